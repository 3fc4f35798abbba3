-- What work for all gateways came to, for those that did not do it.
alter table leases add column result bytea; -- of the last that was finished; null is none
drop function finish_work(text, bigint, boolean);

-- finish_work ends a lease; false when another took it over meanwhile. Work
-- that was not done is left to whoever asks next.
create function finish_work(_name text, _fence bigint, _done boolean, _result bytea default null) returns boolean language plpgsql as $$
#variable_conflict use_column
begin
  update leases set until = never(), done = case when _done then clock() else done end,
    result = case when _done then _result else result end
    where name = _name and fence = _fence and until <> never();
  return found;
end $$;
