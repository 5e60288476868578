"""The repair record: what was found and done, for the owner, the customer and the forum."""
