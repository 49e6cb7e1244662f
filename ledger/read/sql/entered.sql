-- The new entries (those that supersede none) of the batches that end at the given positions.
select known_from, seq, kind, payload
from event
where root = seq and known_from in (select unnest($ends::bigint[]))
order by seq
