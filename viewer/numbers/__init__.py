"""What is measured: margins, seen areas, seams, what a grooved lens does, cautions, changes."""
