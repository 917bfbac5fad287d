"""What follows a moving head: the desktop window and the browser page."""
