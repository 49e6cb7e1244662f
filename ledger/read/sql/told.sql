-- The events of some kinds that stand at a position, with some parts of their payloads as a list of texts in the order
-- of $paths (JSON paths such as `$.a.id`; null where a payload has no such part).
with newest as (
    select *, row_number() over (partition by root order by seq desc) as place
    from event
    -- a line of corrections is of one kind, but for what strikes it out
    where known_from <= $known and (list_contains($kinds::varchar[], kind) or kind = 'void')
)
select
    seq, root, kind, edtf, first_day, last_day, recorded, actor, event_id,
    json_extract_string(payload, $paths::varchar[]) as told
from newest
where place = 1 and kind <> 'void'
order by root
