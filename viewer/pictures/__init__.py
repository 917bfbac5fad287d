"""What is drawn: pictures and their words, seams close up, comparisons, photographs, clips."""
