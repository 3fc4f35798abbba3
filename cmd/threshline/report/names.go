package report

import (
	"strings"

	"threshline/advice"
)

// toolText names what a remedy is done with.
func toolText(id advice.ToolID) string {
	if text, ok := toolTexts[id]; ok {
		return text
	}
	return strings.ReplaceAll(string(id), "_", " ")
}

var toolTexts = map[advice.ToolID]string{
	"tarpaulin_rake": "tarpaulin, rake",
	"hands_tray":     "hands, tray",
	"sieve_1_4":      "sieve of 1.4 mm",
}

// reasonText says why a remedy was chosen or not.
func reasonText(id advice.ReasonID) string {
	if text, ok := reasonTexts[id]; ok {
		return text
	}
	return string(id)
}

var reasonTexts = map[advice.ReasonID]string{
	advice.ForSafety:      "it protects people",
	advice.WillSpoil:      "the lot gets worse by the day",
	advice.Mends:          "it gains most in this lot",
	advice.TooClose:       "the grade is too close to call: measure before acting",
	advice.Unmeasured:     "what it would act on is not known",
	advice.Unlooked:       "nobody looked for signs",
	advice.FixesCause:     "the cause lies before this lot",
	advice.Recurs:         "the same thing held earlier lots down",
	advice.Keeps:          "there is nothing to mend: keep it so",
	advice.NothingToMend:  "nothing known helps this grade",
	advice.StepOfSet:      "it adds enough to the steps before it",
	advice.HandlesThisLot: "what to do with this lot meanwhile",
	advice.NotFound:       "nothing in this lot calls for it",
	advice.NotMeasured:    "what it acts on was not measured",
	advice.NoGain:         "it gains too little or nothing",
	advice.NotWorthIt:     "what it costs is more than it gains",
	advice.LessGain:       "another gains more",
	advice.OnceOnly:       "another cause comes back time after time",
	advice.Dearer:         "another gains the same and is cheaper or sooner",
	advice.AfterUrgent:    "something more urgent comes first",
	advice.NotOffered:     "the programme gives no tariff for it",
	advice.LotTooLarge:    "the lot is too large for it",
	advice.NotClose:       "no limit is near enough to measure again",
}
