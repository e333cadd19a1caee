package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/screen"
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

// report is a sitting to be told of, with what is told beside its figures, and where to.
type report struct {
	ex      *desk.Exercise
	to      streams
	trainee string // whose it is; empty: nobody's
	date    string // of a sitting out of the records
	sound   string // what was heard, and how well its times are known
	json    bool   // as one JSON object
}

// halfTheDelay is what the presses are moved by to tell what an abnormal would have cost.
const halfTheDelay = 0.5

// weigh adds to the result what each abnormal cost, and would have cost with half the delay. Without it there is still a
// report: that the sitting cannot be gone through again is told beside it.
func (r *report) weigh(result *score.Result) {
	costs, err := bench.CostsOf(r.ex.Exercise, r.ex.Seed, r.ex.Lead, r.ex.Log, halfTheDelay)
	if err != nil {
		fmt.Fprintf(r.to.err, "what the abnormals cost is not known: %v\n", err)
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

// text is the report in lines.
func (r *report) text(result *score.Result) []string {
	r.weigh(result)
	return debrief.Text(r.head(), result, reportWidth)
}

// head is what a report begins with.
func (r *report) head() debrief.Head {
	ex := r.ex
	return debrief.Head{
		Scenario: ex.Scenario.Name, Title: titleOf(ex.Bundle), Trainee: r.trainee,
		Policy: ex.PolicyName(), Seed: ex.Seed, Date: r.date, Sound: r.sound,
		Names: namesOf(ex), Caution: debrief.CautionOf(ex.Profile),
	}
}

// namesOf are what the documents of a sitting call items, phases and gauges.
func namesOf(ex *desk.Exercise) debrief.Names {
	n := debrief.Names{
		Items: map[string]string{}, Phases: map[string]string{}, Gauges: map[string]string{}, Controls: map[string]string{}, Units: map[string]string{}, Decimals: map[string]int{},
	}
	for _, phase := range slices.Concat(ex.Bundle.Procedure.Phases, ex.Procedure().Phases) {
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

// give prints the result and turns it into the error that gives the exit status.
func (r *report) give() error {
	result := r.ex.Judge()
	if err := r.print(result); err != nil {
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
func (r *report) print(result *score.Result) error {
	if !r.json {
		_, err := fmt.Fprintln(r.to.out, strings.Join(r.text(result), "\n"))
		return err
	}
	r.weigh(result)
	ex := r.ex
	return printJSON(r.to.out, outcome{ex.Scenario.Name, ex.Seed, ex.PolicyName(), version, result, debrief.CautionOf(ex.Profile)})
}

// show shows the report on the screen, and the sitting of that number again for whoever wants to go through it.
func (r *report) show(ctx context.Context, result *score.Result, id int64, silent bool) {
	// The text begins with the title, which the page has already.
	page := screen.Report{Title: titleOf(r.ex.Bundle), Lines: r.text(result)[1:], Walks: id != 0}
	for {
		walk, err := page.Run(ctx, screen.Options{})
		if err != nil || !walk {
			// The report is printed afterwards in any case, so a screen that fails here takes nothing away.
			return
		}
		err = withKept(r.to, []string{strconv.FormatInt(id, 10)}, func(k *keptSitting) error { return k.walk(ctx, r.to, silent) })
		if err != nil {
			page.Lines = append([]string{"! it cannot be gone through: " + err.Error(), ""}, page.Lines...)
			page.Walks = false
		}
	}
}

func printJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(inert.JSON(w))
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
