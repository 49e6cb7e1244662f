-- Every cell at the close of each of the given days, as known at a position: one pass over the journal.
-- $days: list of days; $known: a position; $uncounted: lots that are not counted, whose rows say so in `kept`.
-- One row a day and cell that is not zero.
with day as (select unnest($days::date[]) as day),
step as (
    select
        d.day, taxon, sex, place, holder, owner, standing,
        case when subject in (select unnest($uncounted::varchar[])) then 'not_counted' else '' end as kept,
        sum(delta) as change
    from posting p asof join day d on p.counts_on <= d.day
    where p.known_from <= $known
    group by all
),
cell as (select distinct taxon, sex, place, holder, owner, standing, kept from step),
grown as (
    select
        day, taxon, sex, place, holder, owner, standing, kept,
        sum(coalesce(change, 0)) over (
            partition by taxon, sex, place, holder, owner, standing, kept order by day
        ) as n
    from cell cross join day left join step using (day, taxon, sex, place, holder, owner, standing, kept)
)
select day, taxon, sex, place, holder, owner, standing, kept, cast(n as bigint) as n
from grown
where n <> 0
order by all
