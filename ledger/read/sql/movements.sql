-- Of every taxon the animals held before $first, and for each reason what it changed from $first to $last (both
-- inside), as known at a position. `in` and `out` are told by the reason of a line, never by its sign.
select
    taxon, reason,
    cast(sum(case when counts_on < $first then delta else 0 end) as bigint) as opening,
    cast(sum(case when counts_on >= $first then delta else 0 end) as bigint) as change
from posting
where counts_on <= $last and known_from <= $known and starts_with(place, 'e-')
group by taxon, reason
having opening <> 0 or change <> 0
order by all
