-- What could have been at the close of each of the given days: one row a day, choice, state and cell (engine rule 21).
-- A state without animals has one row of n = 0 and no cell; state -1: the range is not known.
with standing_rows as (
    select subject, choice, part, from_day, to_day, state, taxon, sex, place, holder, owner, standing, n
    from open_row
    where known_from <= $known
    group by all
    having sum(weight) > 0
)
select
    day, subject, choice, part, state,
    coalesce(taxon, '') as taxon, coalesce(sex, '') as sex, coalesce(place, '') as place,
    coalesce(holder, '') as holder, coalesce(owner, '') as owner, coalesce(standing, '') as standing, n
from standing_rows
join (select unnest($days::date[]) as day) on from_day <= day and day < to_day
order by all
