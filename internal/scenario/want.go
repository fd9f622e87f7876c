package scenario

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rung/internal/visit"
)

// check compares one expectation:
//
//	verdict: WORD            repair, check, escalate or cured
//	repair: ID               the repair proposed first
//	cause: ID                leads
//	cause: ID at least N     stands with at least N in 100
//	never: ID                stands with less than 5 in 100
//	next: ID                 the check proposed first
//	not next: ID             is not among the checks proposed
//	first: ID                the first check taken was this
//	readings: at most N      checks taken so far
//	wrong parts: N           repairs that cured nothing
//	charge: not judged       the charge gate is shut
//	warning: TEXT            a warning holds the text
//	proof: complete          or: open
//	refused: TEXT            the last reading or closing was refused, saying the text
//	accepted: yes            it was not refused
func (p *Player) check(w Line) error {
	switch w.Word {
	case "verdict":
		return same("verdict", string(p.advice.Verdict), w.Rest)
	case "repair":
		return same("repair", p.repairID(), w.Rest)
	case "cause":
		return p.wantCause(w.Rest)
	case "never":
		if c := p.cause(w.Rest); c >= 0.05 {
			return fmt.Errorf("%s stands with %.2f", w.Rest, c)
		}
		return nil
	case "next":
		return same("next check", p.nextID(), w.Rest)
	case "not next":
		if slices.ContainsFunc(p.advice.Next, func(c visit.Card) bool { return c.Check == w.Rest }) {
			return fmt.Errorf("%s is proposed", w.Rest)
		}
		return nil
	case "first":
		if len(p.first) == 0 {
			return fmt.Errorf("no check was taken")
		}
		return same("first check", p.first[0], w.Rest)
	case "readings":
		return atMost("readings", p.readings, w.Rest)
	case "wrong parts":
		return same("wrong parts", strconv.Itoa(p.wrong), w.Rest)
	case "charge":
		if p.advice.NotJudged == nil {
			return fmt.Errorf("the charge gate is open")
		}
		return nil
	case "warning":
		return says("warnings", strings.Join(p.advice.Warnings, " "), w.Rest)
	case "proof":
		return same("proof", map[bool]string{true: "complete", false: "open"}[p.proof.Complete], w.Rest)
	case "refused":
		if p.last == nil {
			return fmt.Errorf("it was not refused")
		}
		return says("refusal", p.last.Error(), w.Rest)
	case "accepted":
		return p.last
	}
	return fmt.Errorf("%q cannot be expected", w.Word)
}

func same(what, got, want string) error {
	if got != want {
		return fmt.Errorf("%s is %q, want %q", what, got, want)
	}
	return nil
}

func says(what, text, part string) error {
	if !strings.Contains(text, part) {
		return fmt.Errorf("%s %q do not say %q", what, text, part)
	}
	return nil
}

func atMost(what string, got int, want string) error {
	n, err := strconv.Atoi(strings.TrimSpace(strings.TrimPrefix(want, "at most")))
	if err != nil {
		return err
	}
	if got > n {
		return fmt.Errorf("%d %s, want at most %d", got, what, n)
	}
	return nil
}

func (p *Player) repairID() string {
	if p.advice.Repair == nil {
		return ""
	}
	return p.advice.Repair.ID
}

func (p *Player) nextID() string {
	if len(p.advice.Next) == 0 {
		return ""
	}
	return p.advice.Next[0].Check
}

// cause returns the probability of a fault, alone or in a pair.
func (p *Player) cause(id string) float64 {
	sum := 0.0
	for _, c := range p.advice.Raw.Causes {
		if c.ID == id || slices.Contains(c.Faults, id) {
			sum += c.Probability
		}
	}
	return sum
}

func (p *Player) wantCause(rest string) error {
	id, share, given := strings.Cut(rest, " at least ")
	if given {
		n, err := strconv.ParseFloat(share, 64)
		if err != nil {
			return err
		}
		if c := p.cause(id); c < n/100 {
			return fmt.Errorf("%s stands with %.2f, want at least %s in 100", id, c, share)
		}
		return nil
	}
	leader := "healthy"
	if len(p.advice.Raw.Causes) > 0 {
		leader = p.advice.Raw.Causes[0].ID
	}
	return same("leading cause", leader, id)
}
