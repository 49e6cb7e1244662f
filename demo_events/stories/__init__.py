"""The stories of the house, one a file: each a function `tell(diary, place)` with its own subjects and its own chance."""
