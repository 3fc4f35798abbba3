-- When a gateway swept last, by a clock that it believed: a start holds its clock
-- against it.
alter table about add column swept bigint not null default never();
