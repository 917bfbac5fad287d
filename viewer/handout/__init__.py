"""What is printed and taken along: a rig's sheet as one HTML file."""
