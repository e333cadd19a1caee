package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// claims checks sittings that are to be imported: whether the documents, the log and the result of each belong together, as they
// do in every one that a program of ours has written.
type claims struct {
	known map[[2]string]*claimed // by plan and policy
}

// claimed is what is known about all sittings that went by the same documents and policy.
type claimed struct {
	ex        *desk.Exercise
	abnormals map[string]bool
	controls  map[string]bool
	gauges    map[string]bool
}

// maxClaimed bounds what is known at a time.
const maxClaimed = 64

func newClaims() *claims { return &claims{known: map[[2]string]*claimed{}} }

// of gives what is known about the documents of a claim.
func (cs *claims) of(c *record.Claim) (*claimed, error) {
	key := [2]string{c.Plan, c.Policy}
	if known := cs.known[key]; known != nil {
		return known, nil
	}
	if _, ok := scenario.PolicyOf(scenario.PolicyName(c.Policy)); !ok {
		return nil, fmt.Errorf("there is no policy %q; there are %q", c.Policy, scenario.PolicyNames())
	}
	bundle, err := library.Unpack(c.Documents)
	if err != nil {
		return nil, fmt.Errorf("this version cannot take its documents: %w", err)
	}
	ex, err := desk.NewExercise(bundle, scenario.PolicyName(c.Policy), c.Seed)
	if err != nil {
		return nil, fmt.Errorf("this version cannot take its documents: %w", err)
	}
	known := &claimed{ex: ex, abnormals: map[string]bool{}, controls: map[string]bool{}, gauges: map[string]bool{}}
	for _, a := range bundle.Abnormals {
		known.abnormals[a.Name] = true
	}
	for i := range bundle.Profile.Controls {
		known.controls[bundle.Profile.Controls[i].ID] = true
	}
	for i := range bundle.Profile.Gauges {
		known.gauges[bundle.Profile.Gauges[i].ID] = true
	}
	if len(cs.known) >= maxClaimed {
		clear(cs.known)
	}
	cs.known[key] = known
	return known, nil
}

// check says what does not belong together.
func (cs *claims) check(c *record.Claim) error {
	known, err := cs.of(c)
	if err != nil {
		return err
	}
	ex := *known.ex
	ex.Seed, ex.Log = c.Seed, c.Log
	for _, name := range []struct{ of, said, is string }{
		{"scenario", c.Scenario, ex.Scenario.Name}, {"procedure", c.Procedure, ex.Procedure().Name}, {"profile", c.Profile, ex.Profile.Name},
	} {
		if name.said != name.is {
			return fmt.Errorf("its %s is %q, and that of its documents %q", name.of, name.said, name.is)
		}
	}
	if err := known.checkLog(&ex, c); err != nil {
		return err
	}
	return checkResult(&ex, c)
}

func (known *claimed) checkLog(ex *desk.Exercise, c *record.Claim) error {
	if len(c.Log) == 0 {
		if c.State == record.Complete {
			return errors.New("it is complete, and has no log")
		}
		return nil
	}
	begin := &c.Log[0]
	switch {
	case begin.Kind != logbook.Begin:
		return errors.New("its log does not begin with its beginning")
	case begin.Text != c.Scenario || begin.Name != c.Policy:
		return fmt.Errorf("its log is of %q by the policy %q, and it says %q and %q", begin.Text, begin.Name, c.Scenario, c.Policy)
	case c.LogVersion == logbook.Version && begin.Seed != c.Seed:
		return fmt.Errorf("its log has the seed %d, and it says %d", begin.Seed, c.Seed)
	case c.LogVersion == logbook.Version && begin.Number != c.LogVersion:
		return fmt.Errorf("its log is of version %d, and it says %d", begin.Number, c.LogVersion)
	}
	items := map[string]bool{}
	ex.Procedure().Each(func(_ *procedure.Phase, it *procedure.Item) { items[it.ID] = true })
	for i := range c.Log {
		e := &c.Log[i]
		missing := ""
		switch {
		case i > 0 && e.Kind == logbook.Begin:
			return fmt.Errorf("entry %d of its log begins it again", i+1)
		case e.Item != "" && !items[e.Item]:
			missing = "item " + e.Item
		case e.Control != "" && !known.controls[e.Control]:
			missing = "control " + e.Control
		case e.Abnormal != "" && !known.abnormals[e.Abnormal]:
			missing = "abnormal " + e.Abnormal
		case slices.Contains(ofGauges, e.Kind) && !known.gauges[e.Name]:
			missing = "gauge " + e.Name
		}
		if missing != "" {
			return fmt.Errorf("entry %d of its log has the %s, which its documents have not", i+1, missing)
		}
	}
	return nil
}

// ofGauges are the kinds of entries whose name is that of a gauge.
var ofGauges = []logbook.Kind{logbook.Figure, logbook.Peak, logbook.Exceeded}

// checkResult compares the result with what the log comes to, as far as they go by the same rules.
func checkResult(ex *desk.Exercise, c *record.Claim) error {
	ended := slices.IndexFunc(c.Log, func(e logbook.Entry) bool { return e.Kind == logbook.End })
	if c.State == record.Complete && ended < 0 {
		return errors.New("it is complete, and its log has no end")
	}
	if c.State == record.Unended {
		return nil
	}
	var before any
	if err := json.Unmarshal(c.Result, &before); err != nil {
		return fmt.Errorf("its result cannot be read: %w", err)
	}
	if fields, ok := before.(map[string]any); ok {
		if completed, ok := fields["completed"].(bool); ok && completed != (c.State == record.Complete) {
			return fmt.Errorf("it is %s, and its result says otherwise", c.State)
		}
	}
	if desk.RulesOf(before) != score.Rules || c.LogVersion != logbook.Version {
		return nil // by other rules it came to something else
	}
	now, err := json.Marshal(ex.Judge())
	if err != nil {
		return err
	}
	if bytes.Equal(now, c.Result) {
		return nil
	}
	var is any
	if err := json.Unmarshal(now, &is); err != nil {
		return err
	}
	if d := desk.FirstDifference(before, is); d != nil {
		return fmt.Errorf("its result is not what its log comes to: %s is %s, and %s by the log", d.Where, d.Was, d.Now)
	}
	return nil
}
