-- Every event known at a position that names one of $ids, or stands in a line of corrections with one that does.
select
    seq, root, known_from, kind, edtf, first_day, last_day, recorded, actor, payload, event_id, reason, words
from event
where
    known_from <= $known
    and seq in (select seq from naming where id in (select unnest($ids::varchar[])))
order by seq
