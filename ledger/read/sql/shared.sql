-- Who stood in one enclosure with a subject, and when, as known at a position: one row a subject met, enclosure and
-- unbroken time. $subject: an id; $places: enclosures, or null for all.
-- A stay is a time in which some of a subject's animals stood in the enclosure at every close, whatever changed there
-- meanwhile; `since` its first day and `until` the first day after it (null: it goes on). `since_possible`,
-- `until_possible`: the first days on which those steps could have counted. Of two stays the time they have in common
-- is theirs together: from the later start to the earlier end.
with line as (  -- what was corrected since has gone, its possible days too
    select subject, place, counts_on, could_from, sum(delta) as d
    from posting
    where
        known_from <= $known and starts_with(place, 'e-')
        and ($places::varchar[] is null or place in (select unnest($places::varchar[])))
    group by subject, place, counts_on, could_from, effect
    having sum(delta) <> 0
),
step as (
    select subject, place, counts_on, min(could_from) as possible, sum(d) as d
    from line
    group by subject, place, counts_on
    having sum(d) <> 0
),
grown as (
    select *, sum(d) over (partition by subject, place order by counts_on) as n from step
),
edge as (
    select *, lag(n, 1, 0) over (partition by subject, place order by counts_on) as was from grown
),
turn as (  -- the days on which somebody came to stand there, and on which nobody stood any more
    select * from edge where (was > 0) <> (n > 0)
),
paired as (
    select
        subject, place, n, counts_on as since, possible as since_possible,
        lead(counts_on) over stay as until, lead(possible) over stay as until_possible
    from turn
    window stay as (partition by subject, place order by counts_on)
),
stay as (select * exclude (n) from paired where n > 0)
select
    b.subject, a.place,
    greatest(a.since, b.since) as since,
    least(a.until, b.until) as until,  -- of a null and a day it is the day
    greatest(a.since_possible, b.since_possible) as since_possible,
    least(a.until_possible, b.until_possible) as until_possible,
    a.since as own_since, a.until as own_until, b.since as other_since, b.until as other_until
from stay a
join stay b
    on a.place = b.place and a.subject = $subject and b.subject <> $subject
    and b.since_possible < coalesce(a.until, date '9999-12-31')
    and a.since_possible < coalesce(b.until, date '9999-12-31')
order by since, b.subject, a.place
