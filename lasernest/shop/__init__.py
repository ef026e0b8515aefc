"""The shop book: records that outlive jobs."""
