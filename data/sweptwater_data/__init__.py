"""Data files that ship with the project; README.md beside this tells of each."""
