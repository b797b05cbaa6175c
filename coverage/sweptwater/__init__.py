"""Which water of a venue the boats have fished, and which nobody has visited.

The rooms, in the order of the work, are `units`, `errors` and `frame`, then the
packages `practice`, `water`, `tracks`, `swept`, `paper` and `jobs`; each imports
only from those before it.
"""

__version__ = "0.1.0"
