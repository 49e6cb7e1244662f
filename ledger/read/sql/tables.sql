-- The reading copy: journal, open rows and the event log, as they stand in the store. Nothing here is changed once written.
create schema tail; -- what was brought from the store; the views may read segments beside it
create table tail.posting (
    known_from bigint,   -- log position from which the line is known: the end of its batch
    because    bigint,   -- position of the event because of which it was posted
    effect     bigint,   -- position of the event whose effect it is: the first of its line of corrections
    subject    varchar,
    counts_on  date,
    could_from date,     -- first day it could have counted; counts_on where there is no doubt
    taxon      varchar,
    sex        varchar,
    place      varchar,
    holder     varchar,
    owner      varchar,
    standing   varchar,
    reason     varchar,
    delta      bigint
);
create table tail.open_row (
    known_from bigint,
    subject    varchar,
    choice     bigint,
    part       bigint,
    from_day   date,
    to_day     date,     -- exclusive
    state      bigint,   -- 0: what the book says; -1: the range is not known
    taxon      varchar,
    sex        varchar,
    place      varchar,
    holder     varchar,
    owner      varchar,
    standing   varchar,
    n          bigint,
    weight     bigint    -- a row stands at a position while its weights up to there sum above zero
);
create table tail.event (
    seq        bigint,
    root       bigint,   -- position of the first event of its line of corrections
    known_from bigint,   -- end of its batch
    kind       varchar,
    edtf       varchar,
    first_day  date,     -- null: open start
    last_day   date,
    recorded   varchar,  -- UTC, 27 characters
    actor      varchar,
    payload    varchar,  -- JSON, stored form
    leaf       varchar,  -- hex
    event_id   varchar,
    reason     varchar,  -- of a superseding event: its code; else empty
    words      varchar   -- commitment of the words of that reason; else empty
);
create table tail.batch (
    last_seq   bigint,   -- a position: the end of a batch
    first_seq  bigint,
    recorded   varchar,  -- of its last event
    journal    varchar   -- digest of the journal after it, hex
);
create table tail.naming (    -- which events name an animal, a lot, a brood or a unit; each refresh brings its rows sorted by id
    id         varchar,
    seq        bigint    -- of such an event, or of one in the same line; `#` and a root: of those that superseded it
);
create view posting as select * from tail.posting;
create view open_row as select * from tail.open_row;
create view event as select * from tail.event;
create view batch as select * from tail.batch;
create view naming as select * from tail.naming;
