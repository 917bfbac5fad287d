"""What is drawn: which directions, who sees what, seams close up, comparisons, photographs, clips."""
