"""Charts: specifications made from core types, drawn as SVG. Only what draws a page imports Altair."""
