-- People get positions too, as checks have them, in the order in which they are
-- committed: a gateway's journal follows both.
alter table about add column journal bytea; -- the id of the gateways' journals; null before the first
create sequence person_position;
alter table people add column position bigint not null default nextval('person_position');
create unique index people_position on people (position);

-- write_exchanges goes on as it is, but gives people positions under the same
-- lock, and wakes the other gateways for them too.
do $$
declare
  was text := pg_get_functiondef('write_exchanges'::regproc);
  now_is text := replace(replace(was,
    'if ''k'' = any (_kind) then', 'if _kind && array[''k'', ''p''] then'),
    'coordinator = excluded.coordinator,', 'coordinator = excluded.coordinator, position = excluded.position,');
begin
  if length(now_is) <> length(was) + 7 + 30 then
    raise exception 'write_exchanges is not as the steps before made it';
  end if;
  execute now_is;
end $$;
