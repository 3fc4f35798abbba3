-- An exchange may run on what its gateway knows of the phone since the last one, and
-- read nothing before: then its person is checked too. What the dialogue's new
-- version is goes back for that.
drop function write_exchanges(text[], bigint[], bytea[], bigint[], bytea[], int[], bigint[], bytea[], int[],
  int[], text[], text[], bigint[], text[], text[], bigint[], bigint[], bigint[], bigint[], bytea[], text[], bigint[]);

-- write_exchanges writes a group of exchanges in one transaction. Each is
-- checked before any of it is written, so that one that is refused leaves its
-- neighbours alone. An outcome is 0 written, 1 answered before (was is the
-- reply), 2 changed meanwhile, 3 a new record's key is taken, 4 a reminding
-- that is gone. Stored is the version of the phone's own dialogue, where it was
-- written. Of an exchange that read nothing before, who and seen are the person
-- whom its turn saw and their version, an empty one for nobody.
--
-- A change is of a kind: d another phone's dialogue, r reminding, p person,
-- k check, i invitation, o outgoing message, n note, a account. Those of an exchange
-- lie together, in the order in which they are locked.
create function write_exchanges(
  _phone text[], _read bigint[], _key bytea[], _until bigint[], _reply bytea[],
  _own int[], _expires bigint[], _value bytea[], _changes int[],
  _item int[], _kind text[], _id text[], _version bigint[], _a text[], _b text[],
  _n bigint[], _m bigint[], _l bigint[], _c bigint[], _record bytea[], _asks text[] default null, _rests bigint[] default null,
  _who text[] default null, _seen bigint[] default null
) returns table (item int, outcome int, what text, was bytea, stored bigint) language plpgsql as $$
#variable_conflict use_column
declare
  begins int; -- where the changes of an exchange begin
  ends int := 0;
  found_version bigint;
  holder text;
begin
  -- Positions are given and committed in one order, so that whoever reads on
  -- from the last position passes over nothing that commits late.
  if _kind && array['k', 'p'] then
    perform pg_advisory_xact_lock(hashtextextended(current_schema() || ' checks', 0));
    notify threshline;
  end if;
  for x in 1 .. cardinality(_phone) loop
    item := x; outcome := 0; what := ''; was := null; stored := 0;
    begins := ends + 1;
    ends := ends + _changes[x];
    if _key[x] is not null then
      insert into duplicates (key, until, reply) values (_key[x], _until[x], _reply[x]) on conflict do nothing;
      if not found then
        select d.reply into was from duplicates d where d.key = _key[x];
        outcome := case when was is null then 2 else 1 end;
        what := 'duplicate';
        return next;
        continue;
      end if;
    end if;

    if _who[x] is not null then
      if _who[x] = '' then
        perform 1 where not exists (select 1 from people where phone = _phone[x]);
      else
        perform 1 from people where phone = _phone[x] and id = _who[x] and version = _seen[x];
      end if;
      if not found then outcome := 2; what := 'person'; end if;
    end if;

    if outcome = 0 then
      for o in begins .. ends loop
        found_version := null;
        if _kind[o] = 'd' then
          select version into found_version from dialogues where phone = _id[o] for update;
          if coalesce(found_version, 0) <> _version[o] then outcome := 2; what := 'dialogue'; end if;
        elsif _kind[o] = 'r' and _version[o] = 2 then
          perform 1 from remindings where id = _id[o] and due = _n[o] for update;
          if not found then outcome := 4; what := 'reminding'; end if;
        elsif _kind[o] = 'p' then
          select version into found_version from people where id = _id[o] for update;
          if coalesce(found_version, 0) <> _version[o] then
            outcome := 2; what := 'person';
          elsif _a[o] <> '' then
            select p.id into holder from people p where p.phone = _a[o] and p.id <> _id[o] for update;
            if found and not exists (
              select 1 from unnest(_item, _kind, _id, _a) as t (item, kind, id, a)
              where t.item = x and t.kind = 'p' and t.id = holder and t.a <> _a[o]
            ) then outcome := 3; what := 'phone'; end if;
          end if;
        elsif _kind[o] = 'k' then
          select version into found_version from checks where slip = _id[o] for update;
          if found_version is not null and _version[o] = 0 then
            outcome := 3; what := 'slip';
          elsif coalesce(found_version, 0) <> _version[o] then
            outcome := 2; what := 'check';
          end if;
        elsif _kind[o] = 'i' then
          select version into found_version from invites where code = _id[o] for update;
          if coalesce(found_version, 0) <> _version[o] then outcome := 2; what := 'invite'; end if;
        elsif _kind[o] = 'a' then
          select version into found_version from accounts where id = _id[o] for update;
          if coalesce(found_version, 0) <> _version[o] then outcome := 2; what := 'account'; end if;
        elsif _kind[o] = 'o' then
          perform 1 from outgoing where id = _id[o];
          if found then outcome := 3; what := 'outgoing message'; end if;
        end if;
        exit when outcome <> 0;
      end loop;
    end if;

    if outcome = 0 and _phone[x] <> '' then
      if _own[x] = 1 and _read[x] <> 0 then
        update dialogues set version = nextval('dialogue_version'), expires = _expires[x], value = _value[x],
          asks = coalesce(_asks[x], asks), rests = case when _asks[x] is null then rests else _rests[x] end,
          watched = case when _expires[x] <> never() and (watched = never() or watched > _expires[x]) then _expires[x] else watched end
          where phone = _phone[x] and version = _read[x] returning version into stored;
      elsif _own[x] = 1 then
        insert into dialogues (phone, version, expires, watched, value, asks, rests)
          values (_phone[x], nextval('dialogue_version'), _expires[x], _expires[x], _value[x], coalesce(_asks[x], ''), coalesce(_rests[x], 0)) on conflict do nothing returning version into stored;
      elsif _own[x] = 2 and _read[x] <> 0 then
        delete from dialogues where phone = _phone[x] and version = _read[x];
      elsif _read[x] <> 0 then
        perform 1 from dialogues where phone = _phone[x] and version = _read[x];
      else
        perform 1 where not exists (select 1 from dialogues where phone = _phone[x]);
      end if;
      if not found then outcome := 2; what := 'dialogue'; stored := 0; end if;
    end if;

    if outcome <> 0 then
      if _key[x] is not null then delete from duplicates where key = _key[x]; end if;
      return next;
      continue;
    end if;

    -- A phone may pass from one person to another: all let go first.
    for o in begins .. ends loop
      if _kind[o] = 'p' then
        update people set phone = null where id = _id[o] and phone <> _a[o];
      end if;
    end loop;
    for o in begins .. ends loop
      if _kind[o] = 'd' then
        if _m[o] = 1 then
          delete from dialogues where phone = _id[o];
        else
          insert into dialogues (phone, version, expires, watched, value)
            values (_id[o], nextval('dialogue_version'), _n[o], _n[o], _record[o])
            on conflict (phone) do update set version = excluded.version, expires = _n[o], watched = _n[o], value = _record[o], asks = '';
        end if;
      elsif _kind[o] = 'r' then
        delete from remindings where id = _id[o];
        if _version[o] = 0 then
          insert into remindings (id, due, value) values (_id[o], _n[o], _record[o]);
        end if;
      elsif _kind[o] = 'p' then
        insert into people (id, version, phone, agent, short, coordinator, named_in, place, name, value)
          values (_id[o], _version[o] + 1, nullif(_a[o], ''), nullif(split_part(_b[o], E'\t', 1), ''), _n[o], _m[o] = 1, nullif(_l[o], 0), nullif(_c[o], 0),
            split_part(_b[o], E'\t', 2), _record[o])
          on conflict (id) do update set version = excluded.version, phone = excluded.phone, agent = excluded.agent,
            short = excluded.short, coordinator = excluded.coordinator, named_in = excluded.named_in, position = excluded.position,
            place = excluded.place, name = excluded.name, value = excluded.value;
      elsif _kind[o] = 'k' then
        insert into checks (slip, version, position, grower, reporter, at, value)
          values (_id[o], _version[o] + 1, nextval('check_position'), _a[o], _b[o], _n[o], _record[o])
          on conflict (slip) do update set version = excluded.version, position = excluded.position,
            grower = excluded.grower, reporter = excluded.reporter, at = excluded.at, value = excluded.value;
      elsif _kind[o] = 'i' then
        insert into invites (code, version, expires, maker, person, value) values (_id[o], _version[o] + 1, _n[o], _a[o], _b[o], _record[o])
          on conflict (code) do update set version = excluded.version, expires = excluded.expires, maker = excluded.maker,
            person = excluded.person, value = excluded.value;
      elsif _kind[o] = 'o' then
        insert into outgoing (id, state, lease, leased, created, changed, channel, carrier, segments, value)
          values (_id[o], _a[o], 0, never(), _l[o], _c[o], _b[o], '', _version[o], _record[o]);
        if _a[o] = 'queued' then
          insert into queue (id, at, expires) values (_id[o], _n[o], _m[o]);
        end if;
      elsif _kind[o] = 'n' then
        insert into notes (value) values (_record[o]);
      elsif _kind[o] = 'a' then
        if _m[o] = 1 then
          delete from accounts where id = _id[o];
        else
          insert into accounts (id, version, value) values (_id[o], _version[o] + 1, _record[o])
            on conflict (id) do update set version = excluded.version, value = excluded.value;
        end if;
      end if;
    end loop;
    return next;
  end loop;
end $$;
