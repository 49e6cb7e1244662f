-- The events that stand at a position: of each line of corrections the newest, unless it strikes the line out.
with newest as (
    select *, row_number() over (partition by root order by seq desc) as place
    from event
    -- a line of corrections is of one kind, but for what strikes it out
    where known_from <= $known and (list_contains($kinds::varchar[], kind) or kind = 'void')
)
select seq, root, kind, edtf, first_day, last_day, recorded, actor, payload
from newest
where place = 1 and kind <> 'void'
order by root
