-- The journal lines that count from $first to $last (both inside), as known at a position, lines that cancel dropped.
select
    effect, subject, counts_on, could_from, taxon, sex, place, holder, owner, standing, reason,
    cast(sum(delta) as bigint) as delta
from posting
where counts_on between $first and $last and known_from <= $known
group by all
having sum(delta) <> 0
order by counts_on, effect, subject, could_from, taxon, sex, place, holder, owner, standing, reason
