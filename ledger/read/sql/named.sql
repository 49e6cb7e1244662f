-- Positions of the events that name one of $ids (`naming`).
select distinct seq from naming where id in (select unnest($ids::varchar[])) order by seq
