package screen

import (
	"threshline/advice"
	"threshline/session"
)

const dryScreen session.ScreenID = "dry"

// drying answers "dry, and what will be left?" without a check.
func drying() []session.Screen {
	return []session.Screen{{ID: dryScreen, Show: showDry, Take: takeDry, Help: helpful("help.dry")}}
}

func showDry(t *session.Talk) session.Shown {
	return says(t.Say("dry.ask", "like", example(t, "18", "600")))
}

func takeDry(t *session.Talk, entry string) session.Move {
	like := example(t, "18", "600")
	numbers, why := session.ReadNumbers(entry)
	if why != "" {
		return misread(t, why, like)
	}
	v := values(numbers)
	if v[0] < leastMoisture || v[0] > mostMoisture {
		return session.Refuse(t.Say("wrong.moisture", "value", t.Number(v[0]), "like", like))
	}
	if len(v) != 2 || v[1] < whole || v[1] > mostHeapKG {
		return session.Refuse(t.Say("wrong.dry", "like", like))
	}
	from, kg := v[0], v[1]
	target := advice.KeepTarget(advice.Food, 0)
	if from < advice.OverDryBelow {
		// Below this it gives weight away: "dry enough" alone would hide that.
		return session.Stay(t.Say("remedy.stop_drying.do") + ". " + t.Say("remedy.stop_drying.how"))
	}
	if from <= target {
		return session.Stay(t.Say("dry.fine", "from", t.Number(from)))
	}
	left, err := advice.Dry(kg, from, target)
	if err != nil {
		return session.Refuse(t.Say("wrong.dry", "like", like))
	}
	said := t.Say("dry.target", "from", t.Number(from), "target", t.Number(target), "kg", t.Number(kg), "after", t.Number(left.Round(0)))
	if from > advice.MicrobesAbove {
		said += " " + t.Say("dry.wet")
	}
	return session.Stay(said + " " + t.Say("dry.how") + "\n")
}
