-- A book, schema 1. Every table only grows. Compared word for word with the file at every opening.
-- The triggers are the second wall: the first is one writing transaction at a time.

CREATE TABLE event (
    seq INTEGER NOT NULL PRIMARY KEY,
    event_id TEXT NOT NULL UNIQUE,
    kind TEXT NOT NULL,
    "first" TEXT,
    "last" TEXT NOT NULL,
    recorded TEXT NOT NULL,
    supersedes TEXT,
    row_key TEXT,
    batch_end INTEGER NOT NULL,
    prev BLOB NOT NULL,
    leaf BLOB NOT NULL,
    bytes BLOB NOT NULL
) STRICT;

CREATE UNIQUE INDEX event_supersedes ON event (supersedes) WHERE supersedes IS NOT NULL;

CREATE UNIQUE INDEX event_row_key ON event (row_key) WHERE row_key IS NOT NULL;

-- last_posting and last_open_row: where the lines of the next batch begin
CREATE TABLE batch (
    known_from INTEGER NOT NULL PRIMARY KEY,
    first_seq INTEGER NOT NULL,
    batch_id TEXT NOT NULL UNIQUE,
    journal BLOB NOT NULL,
    last_posting INTEGER NOT NULL,
    last_open_row INTEGER NOT NULL
) STRICT;

CREATE TABLE posting (
    id INTEGER NOT NULL PRIMARY KEY,
    known_from INTEGER NOT NULL,
    because INTEGER NOT NULL,
    effect INTEGER NOT NULL,
    subject TEXT NOT NULL,
    counts_on TEXT NOT NULL,
    could_from TEXT NOT NULL,
    taxon TEXT NOT NULL,
    sex TEXT NOT NULL,
    place TEXT NOT NULL,
    holder TEXT NOT NULL,
    owner TEXT NOT NULL,
    standing TEXT NOT NULL,
    reason TEXT NOT NULL,
    delta INTEGER NOT NULL
) STRICT;

CREATE TABLE open_row (
    id INTEGER NOT NULL PRIMARY KEY,
    known_from INTEGER NOT NULL,
    subject TEXT NOT NULL,
    choice INTEGER NOT NULL,
    part INTEGER NOT NULL,
    from_day TEXT NOT NULL,
    to_day TEXT NOT NULL,
    state INTEGER NOT NULL,
    taxon TEXT NOT NULL,
    sex TEXT NOT NULL,
    place TEXT NOT NULL,
    holder TEXT NOT NULL,
    owner TEXT NOT NULL,
    standing TEXT NOT NULL,
    n INTEGER NOT NULL,
    weight INTEGER NOT NULL
) STRICT;

CREATE TABLE text (
    "commit" BLOB NOT NULL PRIMARY KEY,
    salt BLOB NOT NULL,
    text TEXT NOT NULL
) STRICT;

-- block: position / 65,536, so that the index grows at its end however many subjects there are
CREATE TABLE subject_event (
    block INTEGER NOT NULL,
    subject TEXT NOT NULL,
    seq INTEGER NOT NULL,
    PRIMARY KEY (block, subject, seq)
) STRICT, WITHOUT ROWID;

-- files of the reading copy: rows of one table of it, known after a position and by another. A cache: without them the
-- copy reads the tables above
CREATE TABLE segment (
    id INTEGER NOT NULL PRIMARY KEY,
    holds TEXT NOT NULL,
    after INTEGER NOT NULL,
    upto INTEGER NOT NULL,
    rows INTEGER NOT NULL,
    file TEXT NOT NULL UNIQUE,
    sha256 BLOB NOT NULL
) STRICT;

CREATE TRIGGER event_follows BEFORE INSERT ON event
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM event)
    OR NEW.prev IS NOT coalesce((SELECT leaf FROM event WHERE seq = NEW.seq - 1), zeroblob(32))
BEGIN SELECT RAISE(ABORT, 'the event does not follow the last one'); END;

-- INSERT OR REPLACE would take the older event away without a word
CREATE TRIGGER event_once BEFORE INSERT ON event
WHEN EXISTS (SELECT 1 FROM event WHERE event_id = NEW.event_id)
    OR (NEW.supersedes IS NOT NULL AND EXISTS (SELECT 1 FROM event WHERE supersedes = NEW.supersedes))
    OR (NEW.row_key IS NOT NULL AND EXISTS (SELECT 1 FROM event WHERE row_key = NEW.row_key))
BEGIN SELECT RAISE(ABORT, 'the event is there already'); END;

CREATE TRIGGER batch_follows BEFORE INSERT ON batch
WHEN NEW.known_from IS NOT (SELECT max(seq) FROM event)
    OR NEW.first_seq IS NOT (SELECT coalesce(max(known_from), 0) + 1 FROM batch)
    OR NEW.last_posting IS NOT (SELECT coalesce(max(id), 0) FROM posting)
    OR NEW.last_open_row IS NOT (SELECT coalesce(max(id), 0) FROM open_row)
    OR EXISTS (SELECT 1 FROM batch WHERE batch_id = NEW.batch_id)
BEGIN SELECT RAISE(ABORT, 'the batch does not follow the last one'); END;

-- a batch's row is written last: nothing is added to a batch that stands
CREATE TRIGGER posting_follows BEFORE INSERT ON posting
WHEN NEW.id IS NOT (SELECT coalesce(max(id), 0) + 1 FROM posting)
    OR NEW.known_from <= (SELECT coalesce(max(known_from), 0) FROM batch)
BEGIN SELECT RAISE(ABORT, 'the line does not follow the last one'); END;

CREATE TRIGGER open_row_follows BEFORE INSERT ON open_row
WHEN NEW.id IS NOT (SELECT coalesce(max(id), 0) + 1 FROM open_row)
    OR NEW.known_from <= (SELECT coalesce(max(known_from), 0) FROM batch)
BEGIN SELECT RAISE(ABORT, 'the open row does not follow the last one'); END;

CREATE TRIGGER text_once BEFORE INSERT ON text
WHEN EXISTS (SELECT 1 FROM text WHERE "commit" = NEW."commit")
BEGIN SELECT RAISE(ABORT, 'the text is there already'); END;

CREATE TRIGGER subject_event_follows BEFORE INSERT ON subject_event
WHEN NEW.seq <= (SELECT coalesce(max(known_from), 0) FROM batch)
BEGIN SELECT RAISE(ABORT, 'the subject does not follow the last batch'); END;

CREATE TRIGGER event_stays BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER event_as_written BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER batch_stays BEFORE DELETE ON batch
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER batch_as_written BEFORE UPDATE ON batch
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER posting_stays BEFORE DELETE ON posting
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER posting_as_written BEFORE UPDATE ON posting
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER open_row_stays BEFORE DELETE ON open_row
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER open_row_as_written BEFORE UPDATE ON open_row
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER text_stays BEFORE DELETE ON text
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER text_as_written BEFORE UPDATE ON text
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER subject_event_stays BEFORE DELETE ON subject_event
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER subject_event_as_written BEFORE UPDATE ON subject_event
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER segment_once BEFORE INSERT ON segment
WHEN NEW.upto > (SELECT coalesce(max(known_from), 0) FROM batch)
    OR EXISTS (SELECT 1 FROM segment WHERE id = NEW.id OR file = NEW.file)
BEGIN SELECT RAISE(ABORT, 'the segment is there already, or holds what is not in the book'); END;

CREATE TRIGGER segment_stays BEFORE DELETE ON segment
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;

CREATE TRIGGER segment_as_written BEFORE UPDATE ON segment
BEGIN SELECT RAISE(ABORT, 'a book only grows'); END;
