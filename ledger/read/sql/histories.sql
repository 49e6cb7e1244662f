-- All lines up to $last of the given subjects, and of every subject from which animals passed into them, and so on
-- back, as known at a position; lines that cancel dropped.
with recursive net as (
    select
        effect, subject, counts_on, could_from, taxon, sex, place, holder, owner, standing, reason,
        cast(sum(delta) as bigint) as delta
    from posting
    where counts_on <= $last and known_from <= $known
    group by all
    having sum(delta) <> 0
),
passed as (select distinct effect, subject, reason from net where reason in ('passed_in', 'passed_out')),
source as (
    select i.subject as target, o.subject as subject
    from passed i join passed o using (effect)
    where i.reason = 'passed_in' and o.reason = 'passed_out'
),
family as (
    select unnest($subjects::varchar[]) as subject
    union
    select s.subject from family f join source s on s.target = f.subject
)
select net.* from net semi join family using (subject)
order by counts_on, effect, subject, could_from, taxon, sex, place, holder, owner, standing, reason
