-- What came to and went from every subject into which young were born, and from all that were parted from or drawn out
-- of such a subject, as known at a position; what cancels is dropped. A row an event, subject, day, way and pool: n.
-- `pool`: here (an enclosure, in transit, with a party while a member house owns them), escaped, missing.
-- `way`: the reason of the journal; a transfer, a title change and a passage have one for both legs.
-- $subjects: only of young born into these, or null for all.
with recursive leg as (
    select
        effect, subject, counts_on, could_from,
        case
            when starts_with(place, 'e-') or place = 'in_transit' then 'here'
            when starts_with(place, 'o-') and starts_with(owner, 'h-') then 'here'
            when place in ('escaped', 'missing') then place
        end as pool,
        case
            when reason in ('transfer_in', 'transfer_out') then 'transfer'
            when reason in ('title_in', 'title_out') then 'title'
            when reason in ('passed_in', 'passed_out') then 'passed'
            else reason
        end as way,
        sum(delta) as delta
    from posting
    where known_from <= $known
    group by all
    having sum(delta) <> 0
),
flow as (
    select
        effect, subject, counts_on, way, pool,
        cast(sum(delta) as bigint) as n, min(could_from) as could_from
    from leg
    where pool is not null
    group by effect, subject, counts_on, way, pool
    having sum(delta) <> 0
),
passage as (
    select gave.subject as source, took.subject as target
    from flow as gave
    join flow as took using (effect)
    where gave.way = 'passed' and took.way = 'passed' and gave.n < 0 and took.n > 0
),
family as (
    select distinct subject
    from flow
    where
        way in ('hatched', 'born') and n > 0
        and ($subjects::varchar[] is null or subject in (select unnest($subjects::varchar[])))
    union
    select target as subject from family join passage on source = family.subject
)
select effect, subject, counts_on, could_from, way, pool, n
from flow
semi join family using (subject)
order by subject, counts_on, effect, way, pool
