"""Kerf: contours become cut paths, and the proof that they leave the drawn panels."""
