"""Files in and out: drawings, cut files, pictures."""
