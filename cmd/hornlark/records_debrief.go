package main

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hornlark/drill"
	"hornlark/drill/debrief"
	"hornlark/drill/debrief/page"
	"hornlark/drill/debrief/trace"
	"hornlark/drill/score"
)

func newDebrief(s streams) *cobra.Command {
	var asJSON, walked bool
	html, reel := output{private: true}, output{private: true}
	c := &cobra.Command{
		Use:   "debrief [ID]",
		Short: "Report on a kept sitting, scored again from its log",
		Long: `Scores a sitting again from its log, by the documents that it went by, and gives the report. ID is its number in
"hornlark progress"; without it, the latest. A sitting that was stopped or killed is scored as incomplete, as far as it went.

What an abnormal cost, and would have cost at half the delay, is computed by the model of the aircraft: the sitting is run
again from its log, with the presses of the trainee between the first cue and the end moved nearer to that cue.

With --html the report is one page for a browser or for paper, with every gauge over the time of the sitting. It needs no
network. With --reel the page moves: the panel as it was, the sound with it, and what happened over a line of time to play
and drag through; one file, to be handed on. With --walk the sitting is shown again on the screen, moment by moment: what
happened, what the aircraft showed and, on request, what was heard.

` + score.IndexFormula,
		Example: `  hornlark debrief
  hornlark debrief 12 --json
  hornlark debrief 12 --html sitting.html
  hornlark debrief 12 --reel sitting-again.html
  hornlark debrief 12 --walk`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeSittings,
		RunE: func(c *cobra.Command, args []string) error {
			reel.force = html.force
			return withKept(s, args, func(k *keptSitting) error {
				switch {
				case html.path != "":
					return k.page(c.Context(), s, &html)
				case reel.path != "":
					return k.reel(c.Context(), s, &reel)
				case walked:
					return k.walk(c.Context(), s, false)
				}
				return k.debrief(s, asJSON)
			})
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "give the result as one JSON object")
	c.Flags().BoolVar(&walked, "walk", false, "show the sitting on the screen, moment by moment")
	c.Flags().StringVar(&html.path, "html", "", "write the report to this file as a page with plots")
	c.Flags().StringVar(&reel.path, "reel", "", "write the sitting to this file as a page to play and drag through, with its sound")
	html.forceFlag(c)
	c.MarkFlagsMutuallyExclusive("json", "html", "reel", "walk")
	return c
}

// traceEvery is the time between two points of a plot.
const traceEvery = 200 * time.Millisecond

// page writes the report as a page.
func (k *keptSitting) page(ctx context.Context, s streams, to *output) error {
	file, err := to.create(ctx, s, false)
	if err != nil {
		return err
	}
	defer file.Drop()
	result := k.Ex.Judge()
	r := k.report(s)
	r.weigh(result)
	seen := trace.New(k.Ex.Profile, traceEvery)
	for _, e := range k.Ex.Log {
		seen.Note(e)
	}
	sitting := k.Begin()
	sitting.Observe(seen.Look)
	if err := sitting.Replay(k.Inputs, k.Lasted(), func(drill.Output) error { return nil }); err != nil {
		return fmt.Errorf("sitting %d cannot be gone through again: %w", k.ID, err)
	}
	p := page.Sitting{Head: r.head(), Result: result, Trace: seen}
	if err := p.Write(file); err != nil {
		return err
	}
	return file.Keep()
}

// debriefed is what debrief --json prints.
type debriefed struct {
	Sitting int64     `json:"sitting"`
	UID     string    `json:"uid"`
	Trainee string    `json:"trainee"`
	Started time.Time `json:"started"`
	DateSet bool      `json:"date_set,omitempty"` // for trying days to come: started is not when it was
	State   string    `json:"state"`
	KeptBy  string    `json:"kept_by"` // version of the program; the one that judges is in version
	outcome
}

// report is the report on the sitting.
func (k *keptSitting) report(s streams) *report {
	return &report{ex: k.Ex, to: s, trainee: k.Trainee, date: k.date(), sound: k.account()}
}

// date is when it began, in words.
func (k *keptSitting) date() string { return clockTime(k.Started) + asOf(k.Moved) }

// debrief gives the report of a sitting out of the records.
func (k *keptSitting) debrief(s streams, asJSON bool) error {
	result, r := k.Ex.Judge(), k.report(s)
	if !asJSON {
		_, err := fmt.Fprintf(s.out, "%s\n", strings.Join(r.text(result), "\n"))
		return err
	}
	r.weigh(result)
	return printJSON(s.out, debriefed{
		k.ID, k.UID, k.Trainee, k.Started.UTC(), k.Moved != 0, string(k.State), k.Version,
		outcome{k.Scenario, k.Seed, k.Policy, version, result, debrief.CautionOf(k.Ex.Profile)},
	})
}

// account says how the times of a sitting out of the records came about.
func (k *keptSitting) account() string {
	return fmt.Sprintf("Sitting %d, kept by version %s. Sounds were asked for %d ms ahead of time; a keyboard adds some milliseconds of its own, typically 5 to 25.",
		k.ID, k.Version, k.Lead.Milliseconds())
}

// keptResult is the result that was stored when the sitting ended, or, if it did not, the one that its log comes to.
func (k *keptSitting) keptResult() (*score.Result, error) {
	if k.Result == nil {
		return k.Ex.Judge(), nil
	}
	result, err := decodeResult(k.Result)
	if err == nil && result.Rules < score.Rules { // what was heard was not told apart then
		again := k.Ex.Judge()
		result.Sound, result.Jumps = again.Sound, again.Jumps
	}
	return result, err
}

func decodeResult(body json.RawMessage) (*score.Result, error) {
	result := new(score.Result)
	if err := json.Unmarshal(body, result); err != nil {
		return nil, fmt.Errorf("the result cannot be read: %w", err)
	}
	return result, nil
}
