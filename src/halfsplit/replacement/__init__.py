"""What a part stands on its board, what may take its place, and how a board is mended."""
