"""The written report: what it says (content), how it looks (html), as paper (pdf); issued once, kept for ever."""
