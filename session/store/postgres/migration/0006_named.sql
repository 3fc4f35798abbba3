-- Agents who agreed to be named to growers are found by a number of their
-- district's name; null is for all others.
alter table people add column named_in bigint;
create index people_named on people (named_in, id) where named_in is not null;

-- write_exchanges goes on as it is, but writes the column too.
do $$
declare
  was text := pg_get_functiondef('write_exchanges'::regproc);
  now_is text := replace(replace(replace(was,
    'short, coordinator, value)', 'short, coordinator, named_in, value)'),
    'o.n, o.m = 1, o.value)', 'o.n, o.m = 1, nullif(o.l, 0), o.value)'),
    'coordinator = excluded.coordinator,', 'coordinator = excluded.coordinator, named_in = excluded.named_in,');
begin
  if length(now_is) <> length(was) + 10 + 16 + 30 then
    raise exception 'write_exchanges is not as the steps before made it';
  end if;
  execute now_is;
end $$;
