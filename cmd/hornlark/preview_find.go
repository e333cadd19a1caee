package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"hornlark/drill/bench"
	"hornlark/drill/condition"
	"hornlark/drill/debrief"
)

// findRuns is how many seeds are searched, unless it is told.
const findRuns = 1000

// errFoundEnough ends a search that has found enough.
var errFoundEnough = errors.New("enough has been found")

// finder is a question to sittings.
func (p *preview) finder(text string) (func(*bench.Sitting) bool, error) {
	holds, err := p.Facts().Find(text)
	var e *condition.Error
	if errors.As(err, &e) {
		return nil, usageError{fmt.Errorf("--find: %w\nhornlark preview %s --facts lists what can be asked", err, p.scenario)}
	}
	return holds, err
}

// found is a seed for which something holds, as --json has it.
type found struct {
	Command string `json:"command"`
	*bench.Sitting
}

// foundJSON is what --find --json prints.
type foundJSON struct {
	Scenario  string       `json:"scenario"`
	Trainee   bench.Person `json:"trainee"`
	Find      string       `json:"find"`
	FirstSeed uint64       `json:"first_seed"`
	Searched  int          `json:"searched"`
	Found     []found      `json:"found"`
	Estimates string       `json:"estimates"`
	Caution   string       `json:"caution"`
}

// search goes through seeds until enough are found.
func (p *preview) search(ctx context.Context) error {
	holds, err := p.finder(p.find)
	if err != nil {
		return err
	}
	out := foundJSON{
		Scenario: p.bundle.Scenario.Name, Trainee: p.Person(), Find: p.find, FirstSeed: p.seed, Found: []found{}, Estimates: bench.Estimates,
		Caution: debrief.CautionOf(p.bundle.Profile),
	}
	took := p.progress("searching")
	err = p.sitAll(ctx, p.runs, func(i int, s *bench.Sitting) error {
		took.at(i+1, p.runs)
		out.Searched = i + 1
		if holds(s) {
			out.Found = append(out.Found, found{p.command(s.Seed), s})
			if len(out.Found) == p.most {
				return errFoundEnough
			}
		}
		return nil
	})
	took.end()
	if err != nil && !errors.Is(err, errFoundEnough) {
		return err
	}
	if p.asJSON {
		return printJSON(p.out, out)
	}
	_, err = fmt.Fprintln(p.out, strings.Join(p.foundText(&out), "\n"))
	return err
}

func (p *preview) foundText(out *foundJSON) []string {
	lines := paragraph(nil, 0, fmt.Sprintf("FOUND %d in %s of a %s, from seed %d on: %s", len(out.Found), debrief.Count(out.Searched, inSittings), p.standInText(), p.seed, p.find))
	lines = append(lines, forInstructor, "")
	for _, f := range out.Found {
		lines = append(lines, f.Command)
		lines = paragraph(lines, 2, p.cameIn(f.Sitting.Injections)+". "+fateOf(f.Sitting))
	}
	if len(out.Found) == 0 {
		lines = paragraph(lines, 0, fmt.Sprintf("Nothing; search more seeds with --runs, or see with hornlark preview %s what comes how often.", p.scenario))
	}
	lines = append(lines, "")
	lines = paragraph(lines, 0, "With a seed the same is drawn for everybody; when it comes hangs on the pace of who sits there. "+bench.Estimates)
	return paragraph(append(lines, ""), 0, out.Caution)
}

// fateOf says how a sitting went.
func fateOf(s *bench.Sitting) string {
	how := "Not passed"
	if s.Passed {
		how = "Passed"
	}
	return fmt.Sprintf("%s, %s.", how, clockOf(s.LengthS))
}

// cameIn says what came in a sitting.
func (p *preview) cameIn(injections []bench.InjectionOutcome) string {
	if len(injections) == 0 {
		return "nothing comes"
	}
	var parts []string
	for _, in := range injections {
		text := in.Abnormal + " " + clockOf(in.AtS)
		if in.Item != "" {
			text += " at " + p.challenge(in.Item)
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, ", ")
}

// command is how a sitting with a seed is begun.
func (p *preview) command(seed uint64) string {
	words := []string{"hornlark", "drill", p.scenario, "--seed", strconv.FormatUint(seed, 10)}
	if p.policy != "" {
		words = append(words, "--policy", p.policy)
	}
	if len(p.phases) > 0 {
		words = append(words, "--phases", strings.Join(p.phases, ","))
	}
	for _, own := range p.own {
		words = append(words, "--with", own)
	}
	for i, w := range words {
		words[i] = shellWord(w)
	}
	return strings.Join(words, " ")
}

// shellWord is a word as a shell reads it back.
func shellWord(w string) string {
	if w != "" && strings.IndexFunc(w, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_./,:+@%", r))
	}) < 0 {
		return w
	}
	return "'" + strings.ReplaceAll(w, "'", `'\''`) + "'"
}

// listFacts lists what --find can ask.
func (p *preview) listFacts() error {
	facts := p.Facts().List
	if p.asJSON {
		return printJSON(p.out, struct {
			Scenario string       `json:"scenario"`
			Facts    []bench.Fact `json:"facts"`
		}{p.bundle.Scenario.Name, facts})
	}
	lines := []string{fmt.Sprintf("WHAT --find CAN ASK of %s, %d", p.bundle.Scenario.Name, len(facts)), forInstructor}
	lines = paragraph(lines, 0, "Numbers are compared (< > <= >= ==) and reckoned with (+ - * /), what is true or false is joined by and, or, not. A dash in a name is written as _.")
	for _, f := range facts {
		kind := "number"
		if f.Truth {
			kind = "true or false"
		}
		lines = append(lines, f.Name)
		lines = paragraph(lines, 4, fmt.Sprintf("%s (%s) As in: %s", f.About, kind, f.Example))
	}
	_, err := fmt.Fprintln(p.out, strings.Join(lines, "\n"))
	return err
}
