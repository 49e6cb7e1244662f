-- Where the animals of each subject stand at the close of a day, as known at a position. All accounts included:
-- summed over every cell of a taxon the answer is zero.
select subject, taxon, sex, place, holder, owner, standing, cast(sum(delta) as bigint) as n
from posting
where counts_on <= $on and known_from <= $known
group by all
having sum(delta) <> 0
order by all
