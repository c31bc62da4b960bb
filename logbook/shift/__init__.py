"""One shift's story, put together: rounds due and done, deviations and answers, the review."""
