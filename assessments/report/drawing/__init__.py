"""Pictures as SVG text for pages and documents alike: readable in grey, with a title and a description in words."""
