-- The journal lines that were posted because of the given events, as known at a position, lines that cancel dropped.
select
    because, subject, counts_on, taxon, sex, place, holder, owner, standing, cast(sum(delta) as bigint) as delta
from posting
where because in (select unnest($events::bigint[])) and known_from <= $known
group by all
having sum(delta) <> 0
order by all
