-- Every event of some kinds known at a position, superseded or not, and what struck one of them out.
select
    seq, root, known_from, kind, edtf, first_day, last_day, recorded, actor, payload, event_id, reason, words
from event
where
    known_from <= $known
    and (
        list_contains($kinds::varchar[], kind)
        or (kind = 'void' and root in (select root from event where list_contains($kinds::varchar[], kind)))
    )
order by seq
