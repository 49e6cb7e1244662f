-- Leaves of all events up to a position, in order.
select leaf from event where seq <= $known order by seq
