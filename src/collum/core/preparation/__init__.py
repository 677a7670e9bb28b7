"""A preparation as facets: its path of placement, what it measures, what resists on it, what a groove or box would gain."""
