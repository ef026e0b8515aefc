"""No-fit regions: where one outline must not go because of another."""
