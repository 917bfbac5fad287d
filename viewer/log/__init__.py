"""The build log: entries kept safe, what goes into one, and the log as a page."""
