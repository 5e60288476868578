"""One family of parts per file: pins, behaviour, ratings, ways of failing."""
