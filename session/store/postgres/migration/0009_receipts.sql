-- A receipt that is older than the message's last change, as one of an earlier
-- attempt is, sets the time of that change back no more: a day's money counts it.
do $$
declare
  was text;
  now_is text;
begin
  was := pg_get_functiondef('settle'::regproc);
  now_is := replace(was, '_changed := seen.at', '_changed := greatest(_changed, seen.at)');
  if length(now_is) <> length(was) + 20 then
    raise exception 'settle is not as the steps before made it';
  end if;
  execute now_is;
  was := pg_get_functiondef('receive'::regproc);
  now_is := replace(was, 'changed = _at,', 'changed = greatest(changed, _at),');
  if length(now_is) <> length(was) + 19 then
    raise exception 'receive is not as the steps before made it';
  end if;
  execute now_is;
end $$;
