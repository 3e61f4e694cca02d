"""The views of the pages, one noun a file: each asks a query or a service and fills a template."""
