-- Ids of all events, with the position of the first event of the line of corrections each stands in.
select event_id, root from event
