"""Words in, files and text out."""
