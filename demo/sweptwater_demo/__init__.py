"""An invented water and invented practice days on it, with known truth.

Nothing here measures anything: what really happened is written down while it is made
up, so that the engine can be judged by it.
"""
