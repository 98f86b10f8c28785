"""The page: one file that explains a machine to its builder, with its replay."""
