-- The events at some positions that are known at a position.
select
    seq, root, known_from, kind, edtf, first_day, last_day, recorded, actor, payload, event_id, reason, words
from event
where known_from <= $known and seq in (select unnest($seqs::bigint[]))
order by seq
