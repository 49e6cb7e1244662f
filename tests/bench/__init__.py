"""How fast, at what size: `python -m tests.bench [--events N] [--format json]`. Nothing here asserts seconds."""
