"""Pictures of a machine and of what it does, as SVG: for the page, and each alone for paper."""
