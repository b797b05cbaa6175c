"""One module a command: a practice in, a report out."""
