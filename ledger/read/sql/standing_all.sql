-- All events that stand at a position, of every kind: as `standing_events`.
with newest as (
    select *, row_number() over (partition by root order by seq desc) as place
    from event
    where known_from <= $known
)
select seq, root, kind, edtf, first_day, last_day, recorded, actor, payload
from newest
where place = 1 and kind <> 'void'
order by root
