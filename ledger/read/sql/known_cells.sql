-- Every cell that a subject's animals were ever in, as known at a position: bounds what could have been where no
-- range is known. Cells of accounts carry no owner and are no place to be.
select distinct subject, taxon, sex, place, holder, owner, standing
from posting
where known_from <= $known and owner <> '' and subject in (select unnest($subjects::varchar[]))
order by all
