-- Where each subject's animals stood, one row a stretch of days with one number in one cell, as known at a position.
-- $subjects: ids, or null for all. `until` is the first day it no longer stood so; null where it stands to this day.
-- `since_possible`, `until_possible`: the first day that step could have counted. Live places only.
with line as (
    select subject, taxon, sex, place, holder, owner, standing, counts_on, could_from, effect, reason, sum(delta) as d
    from posting
    where
        known_from <= $known
        and (
            starts_with(place, 'e-') or place in ('in_transit', 'escaped', 'missing')
            or (starts_with(place, 'o-') and starts_with(owner, 'h-'))  -- with a party, and ours
        )
        and ($subjects::varchar[] is null or subject in (select unnest($subjects::varchar[])))
    group by all
    having sum(delta) <> 0
),
step as (
    select
        subject, taxon, sex, place, holder, owner, standing, counts_on, min(could_from) as possible,
        list(distinct effect order by effect) as events, max_by(reason, effect) as reason, sum(d) as d
    from line
    group by subject, taxon, sex, place, holder, owner, standing, counts_on
    having sum(d) <> 0
),
run as (
    select
        *,
        sum(d) over earlier as n,
        lead(counts_on) over cell as until,
        lead(possible) over cell as until_possible,
        lead(reason) over cell as until_reason,
        lead(events) over cell as until_events
    from step
    window
        cell as (partition by subject, taxon, sex, place, holder, owner, standing order by counts_on),
        earlier as (cell rows between unbounded preceding and current row)
)
select
    subject, taxon, sex, place, holder, owner, standing, cast(n as bigint) as n,
    counts_on as since, possible as since_possible, reason as since_reason, events as since_events,
    until, until_possible, coalesce(until_reason, '') as until_reason, coalesce(until_events, []) as until_events
from run
where n <> 0
order by subject, since, place, sex, taxon, holder, owner, standing
