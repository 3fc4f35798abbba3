package mem

import "threshline/session"

// forget removes what session.Trace names from everything stored, except from
// what this exchange itself writes.
func (s *Store) forget(key session.Key, w *session.Writes) {
	for _, t := range w.Forget {
		s.forgetDialogues(t, w.Dialogue)
		var answers []duplicate
		s.state.duplicates.Ascend(func(d duplicate) bool { answers = append(answers, d); return true })
		for _, d := range answers {
			switch {
			case d.key == key.Duplicate:
				continue
			case t.Phone != "" && d.phone == t.Phone:
				d.reply = session.Reply{Silent: true}
			default:
				d.reply.Text = t.Redact(d.reply.Text)
			}
			s.state.duplicates.ReplaceOrInsert(d)
		}
		for id, o := range s.outgoing {
			switch {
			case t.Phone == "" || o.To != t.Phone:
				o.Text = t.Redact(o.Text)
			case t.Drops(o.Outgoing):
				delete(s.outgoing, id)
				delete(s.queue, id)
				continue
			default:
				o.Forget()
			}
			s.keepSent(o)
		}
		var theirs []session.Reminder
		s.state.reminders.Ascend(func(r session.Reminder) bool {
			if t.Person != "" && r.Person == t.Person || t.Phone != "" && r.Phone == t.Phone {
				theirs = append(theirs, r)
			}
			return true
		})
		for _, r := range theirs {
			s.state.reminders.Delete(r)
		}
	}
}

// forgetDialogues drops the dialogue of who is forgotten, and takes the name
// out of the others; written is the turn's own.
func (s *Store) forgetDialogues(t session.Trace, written *session.Dialogue) {
	var all []session.Dialogue
	s.state.dialogues.Ascend(func(d session.Dialogue) bool { all = append(all, d); return true })
	for _, d := range all {
		switch {
		case written != nil && written.Phone == d.Phone:
		case d.Phone == t.Phone:
			s.state.dialogues.Delete(d)
		default:
			if d = d.Clone(); d.Redact(t) {
				s.dialogueVersion++
				d.Version = s.dialogueVersion
				s.state.dialogues.ReplaceOrInsert(d)
			}
		}
	}
}
