"""What many head positions, lenses or builds come to: how far a head may move, what to choose."""
