package main

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"hornlark/drill/bench"
	"hornlark/drill/debrief"
	"hornlark/drill/inert"
	"hornlark/drill/score"
)

// reportWidth is how wide the text report is.
const reportWidth = 80

// outcome is what --json prints.
type outcome struct {
	Scenario string `json:"scenario"`
	Seed     uint64 `json:"seed"`
	Policy   string `json:"policy"`
	Version  string `json:"version"`
	*score.Result
	Caution string `json:"caution"`
}

// judge scores what has been logged, and claims nothing as heard that nobody can have heard.
func (ex *exercise) judge() *score.Result {
	result := score.Judge(ex.Sheet(ex.seed), ex.log)
	if ex.unheard != "" {
		result.Sound.Silence(ex.unheard)
	}
	return result
}

// halfTheDelay is what the presses are moved by to tell what an abnormal would have cost.
const halfTheDelay = 0.5

// weigh adds to the result what each abnormal cost, and would have cost with half the delay. Without it there is still a
// report: that the sitting cannot be gone through again is told beside it.
func (ex *exercise) weigh(result *score.Result) {
	costs, err := bench.CostsOf(ex.Exercise, ex.seed, ex.lead, ex.log, halfTheDelay)
	if err != nil {
		fmt.Fprintf(ex.options.err, "what the abnormals cost is not known: %v\n", err)
	}
	toll := func(c bench.Cost) score.Toll {
		return score.Toll{Highest: c.Highest, Lowest: c.Lowest, RedS: c.InRed.Seconds()}
	}
	for i := range result.Injections {
		in := &result.Injections[i]
		in.Costs = nil
		for _, c := range costs {
			if c.Injection != in.Name {
				continue
			}
			for k := range c.AsWas {
				in.Costs = append(in.Costs, score.Cost{Gauge: c.AsWas[k].Gauge, AsWas: toll(c.AsWas[k]), AtHalf: toll(c.Moved[k])})
			}
		}
	}
}

// text is the report in lines. sound says what was heard, and how well its times are known.
func (ex *exercise) text(result *score.Result, sound string) []string {
	ex.weigh(result)
	return debrief.Text(ex.head(sound), result, reportWidth)
}

// head is what a report begins with.
func (ex *exercise) head(sound string) debrief.Head {
	return debrief.Head{
		Scenario: ex.Scenario.Name, Title: ex.title(), Trainee: ex.options.trainee,
		Policy: ex.policy(), Seed: ex.seed, Date: ex.date, Sound: sound,
		Names: ex.names(), Caution: debrief.CautionOf(ex.Profile),
	}
}

// names are what the documents call items, phases and gauges.
func (ex *exercise) names() debrief.Names {
	n := debrief.Names{
		Items: map[string]string{}, Phases: map[string]string{}, Gauges: map[string]string{}, Controls: map[string]string{}, Units: map[string]string{}, Decimals: map[string]int{},
	}
	for _, phase := range slices.Concat(ex.Bundle.Procedure.Phases, ex.procedure().Phases) {
		n.Phases[phase.ID] = phase.Title
		for i := range phase.Items {
			n.Items[phase.Items[i].ID] = phase.Items[i].Challenge
		}
	}
	for i := range ex.Profile.Gauges {
		g := &ex.Profile.Gauges[i]
		n.Gauges[g.ID], n.Units[g.ID], n.Decimals[g.ID] = g.Name, g.Unit, g.Decimals
	}
	for i := range ex.Profile.Controls {
		c := &ex.Profile.Controls[i]
		n.Controls[c.ID] = c.Name
	}
	return n
}

// report prints the result and turns it into the error that gives the exit status.
func (ex *exercise) report(sound string) error {
	result := ex.judge()
	if err := ex.print(result, sound); err != nil {
		return err
	}
	switch {
	case !result.Completed:
		return errStopped
	case !result.Passed:
		return errNotPassed
	}
	return nil
}

// print prints the result, as text or as JSON.
func (ex *exercise) print(result *score.Result, sound string) error {
	if !ex.options.json {
		_, err := fmt.Fprintln(ex.options.out, strings.Join(ex.text(result, sound), "\n"))
		return err
	}
	ex.weigh(result)
	return printJSON(ex.options.out, outcome{ex.Scenario.Name, ex.seed, ex.policy(), version, result, debrief.CautionOf(ex.Profile)})
}

func printJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(inert.JSON(w))
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
