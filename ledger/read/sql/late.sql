-- Events that count in a period (by their last possible day) but were known only after a position, up to another.
select seq, root, kind, edtf, last_day, recorded
from event
where known_from > $before and known_from <= $known and last_day <= $last
order by seq
