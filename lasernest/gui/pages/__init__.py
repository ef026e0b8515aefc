"""The pages of the window, one for each step of a job."""
