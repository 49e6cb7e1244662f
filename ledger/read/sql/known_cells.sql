-- Every cell that a subject was ever in, as known at a position: bounds what could have been where no range is known.
select distinct subject, taxon, sex, place, holder, owner, standing
from posting
where known_from <= $known and subject in (select unnest($subjects::varchar[]))
order by all
