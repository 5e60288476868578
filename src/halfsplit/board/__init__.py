"""Names and text: the board as typed; knows no part's behaviour."""
