"""The invented house: four years of Marrow Sound Aquarium, as event files with their schedule of recording.

`README.md` tells the story. The files `2023-q1.jsonl` and on are written by `python -m demo_events.generate`,
seeded: the same bytes every time. `read` hands them to whoever loads them. Nothing here is a real institution,
person or animal; the taxa are.
"""
