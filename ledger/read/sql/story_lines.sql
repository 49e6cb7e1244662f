-- The journal lines of $subjects, as known at a position, as they were posted (what cancels is not dropped). $ends: ends
-- of the batches that name them; no other batch posts a line of them, so the rest of the journal is skipped.
select
    effect, subject, counts_on, could_from, taxon, sex, place, holder, owner, standing, reason, delta
from posting
where
    known_from in (select unnest($ends::bigint[]))
    and known_from <= $known
    and subject in (select unnest($subjects::varchar[]))
