package main

import "errors"

// rule is what must hold in every run.
type rule string

// The rules. For each there is a fault in plants that it finds and no other does.
const (
	ruleKept      rule = "what was acknowledged is kept, once, under its slip"
	ruleAlike     rule = "a message that comes again is answered alike, and no other is taken for it"
	ruleDanger    rule = "a danger that was said is told and stays"
	ruleAnswers   rule = "who says something is answered, whatever others do"
	ruleMoney     rule = "no part of a day's money is overspent"
	ruleInTime    rule = "what falls due comes in its time, and once"
	ruleStop      rule = "who stopped messages gets only answers"
	ruleForgotten rule = "who is forgotten is in no byte"
	ruleKnown     rule = "nobody is let go who was heard of"
	ruleEnded     rule = "what has ended opens nothing"
	ruleLedger    rule = "the ledger is what a fresh reading of the store says"
	ruleRest      rule = "nothing fails, and all work ends"
	ruleApart     rule = "what hands counted has no grade, and is in none of the season's figures"
	ruleMoved     rule = "who has a new phone is known by it alone, with all that is theirs"
	ruleLearnt    rule = "what is learnt at its day is what the season's first checks hold"
	ruleReturns   rule = "memory and goroutines return to where they were"
)

var rules = []rule{ruleKept, ruleAlike, ruleDanger, ruleAnswers, ruleMoney, ruleInTime, ruleStop, ruleForgotten, ruleKnown, ruleEnded, ruleLedger, ruleRest, ruleApart, ruleMoved, ruleLearnt, ruleReturns}

// breach is a rule that did not hold.
type breach struct {
	rule rule
	what error
}

// Error implements error.
func (b *breach) Error() string { return string(b.rule) + ": " + b.what.Error() }

// brokenBy is the rule that an error says did not hold.
func brokenBy(err error) rule {
	var b *breach
	errors.As(err, &b)
	if b == nil {
		return ""
	}
	return b.rule
}
