"""The stories of the house, a file each: `tell(diary, place)`, with its own subjects and its own chance."""
