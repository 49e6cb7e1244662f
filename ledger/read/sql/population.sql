-- Animals by taxon and sex at the close of each of $days, as known at a position; one pass over the journal.
-- $owned false: those held, in enclosures of member houses; true: those that member houses own, in an enclosure, with a
-- party or on the way.
with day as (select unnest($days::date[]) as day),
-- the asked day from which a day's lines count: few days, so that no line is sorted
asked as (
    select d.counts_on, min(day.day) as day
    from (select distinct counts_on from posting) d join day on d.counts_on <= day.day
    group by d.counts_on
),
step as (
    select a.day, taxon, sex, cast(sum(delta) as bigint) as change
    from posting p join asked a using (counts_on)
    where
        known_from <= $known
        and case
            when $owned then starts_with(owner, 'h-') and place not in ('escaped', 'missing')
            else starts_with(place, 'e-')
        end
    group by all
),
grown as (
    select
        day, taxon, sex, sum(change) over grows as n, lead(day) over grows as until
    from step
    window grows as (partition by taxon, sex order by day rows unbounded preceding)
)
select d.day, taxon, sex, cast(n as bigint) as n
from grown g join day d on g.day <= d.day and (d.day < g.until or g.until is null)
where n <> 0
order by all
