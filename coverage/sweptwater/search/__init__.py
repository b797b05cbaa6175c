"""Search: how surely the water was searched, what is believed, where hours go next."""
