"""What is sawn, drilled and carried: cut list, sheets, weights, templates."""
