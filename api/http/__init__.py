"""HTTP conventions: problems, conditional requests, idempotency, paging, parameters."""
