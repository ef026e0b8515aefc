"""Small parts that pages are put together from."""
