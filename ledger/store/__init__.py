"""Where a book is kept. The port says what any store must do; memory and SQLite do it, under one suite of tests."""
