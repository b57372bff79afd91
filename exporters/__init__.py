"""The documents: templates, Markdown, HTML, drawings."""
