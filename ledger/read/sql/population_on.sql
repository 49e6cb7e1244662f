-- As `population`, for one day: a filtered sum and nothing else.
select $on::date as day, taxon, sex, cast(sum(delta) as bigint) as n
from posting
where
    counts_on <= $on and known_from <= $known
    and case
        when $owned then starts_with(owner, 'h-') and place not in ('escaped', 'missing')
        else starts_with(place, 'e-')
    end
group by taxon, sex
having sum(delta) <> 0
order by all
