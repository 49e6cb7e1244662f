-- The events that stand at a position: of each line of corrections the newest, unless it strikes the line out.
with newest as (
    select *, row_number() over (partition by root order by seq desc) as place
    from event
    where known_from <= $known
)
select seq, root, kind, edtf, first_day, last_day, recorded, actor, payload
from newest
where place = 1 and kind <> 'void' and list_contains($kinds::varchar[], kind)
order by root
