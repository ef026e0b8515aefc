"""The job: the document with panels, quantities and setup, and its file."""

from lasernest.job.document import Job, JobPanel, Setup, Source
from lasernest.job.file import SUFFIX, load_job, save_job

__all__ = ["SUFFIX", "Job", "JobPanel", "Setup", "Source", "load_job", "save_job"]
