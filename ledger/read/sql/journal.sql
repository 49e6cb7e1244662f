-- All journal lines known at a position, as the store keeps them (days as ISO text), batch by batch.
select
    known_from, because, effect, subject, strftime(counts_on, '%Y-%m-%d') as counts_on,
    strftime(could_from, '%Y-%m-%d') as could_from, taxon, sex, place, holder, owner, standing, reason, delta
from posting
where known_from <= $known
order by known_from
