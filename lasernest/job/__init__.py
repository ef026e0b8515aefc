"""The job: the document with panels, quantities and setup, and its file."""

from lasernest.job.document import Job, JobPanel, Setup, Source, StockChoice
from lasernest.job.file import SUFFIX, load_job, save_job
from lasernest.job.parts import parts_of, plan_of_part, working_parts

__all__ = [
    "SUFFIX",
    "Job",
    "JobPanel",
    "Setup",
    "Source",
    "StockChoice",
    "load_job",
    "parts_of",
    "plan_of_part",
    "save_job",
    "working_parts",
]
