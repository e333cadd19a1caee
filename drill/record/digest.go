package record

import (
	"database/sql"
	"encoding/json"
	"math"
	"time"
)

// Digest is what a trend needs of a result. Whoever judges makes it, and it is kept beside the result: a history of
// thousands of results is slow to read.
type Digest struct {
	Passed     bool        `json:"passed"`
	Asked      int         `json:"asked"`       // items
	Right      int         `json:"right"`       // of them
	Reactions  int         `json:"reactions"`   // how many the median rests on
	ReactionMS *float64    `json:"reaction_ms"` // median from challenge to press; nil without any
	Injections []Injection `json:"injections"`  // in the order in which they came
	Trials     *Trials     `json:"-"`           // nil: they are drawn when they are first asked for; so they are from a journal
}

// Injection is what a trend needs of one injection.
type Injection struct {
	Trainee     string    `json:"-"` // set by the store
	Started     time.Time `json:"-"` // when its sitting did; set by the store
	Abnormal    string    `json:"abnormal"`
	Harmless    bool      `json:"harmless"`
	Outcome     string    `json:"outcome"`      // in the words of who judged it
	DetectionMS *float64  `json:"detection_ms"` // nil if it was not noticed
	HandlingMS  *float64  `json:"handling_ms"`  // nil if it was not handled
}

// finite is the digest without numbers that neither JSON nor the database has.
func (d Digest) finite() *Digest {
	some := func(v *float64) *float64 {
		if v == nil || math.IsNaN(*v) || math.IsInf(*v, 0) {
			return nil
		}
		return v
	}
	d.ReactionMS = some(d.ReactionMS)
	injections := make([]Injection, len(d.Injections))
	for i, in := range d.Injections {
		in.DetectionMS, in.HandlingMS = some(in.DetectionMS), some(in.HandlingMS)
		injections[i] = in
	}
	d.Injections = injections
	return &d
}

func insertDigest(tx *sql.Tx, id int64, d *Digest) error {
	_, err := tx.Exec("INSERT INTO summary (sitting, passed, asked, done_right, reactions, reaction_ms) VALUES (?, ?, ?, ?, ?, ?)",
		id, d.Passed, d.Asked, d.Right, d.Reactions, d.ReactionMS)
	for i, in := range d.Injections {
		if err != nil {
			return err
		}
		_, err = tx.Exec("INSERT INTO injection (sitting, number, abnormal, harmless, outcome, detection_ms, handling_ms) VALUES (?, ?, ?, ?, ?, ?, ?)",
			id, i, in.Abnormal, in.Harmless, in.Outcome, in.DetectionMS, in.HandlingMS)
	}
	if err != nil {
		return err
	}
	return insertTrials(tx, id, d.Trials)
}

// digestOfFirst draws a digest from a result as the programs wrote it whose results came without one. It takes the same
// members as the tables did then, and takes a result that is none for one that has none of them.
func digestOfFirst(body json.RawMessage) *Digest {
	var d Digest
	members := membersOf(body)
	json.Unmarshal(members["passed"], &d.Passed)
	for _, item := range elementsOf(members["items"]) {
		switch outcome := stringOf(membersOf(item)["outcome"]); outcome {
		case "", "not-asked":
		case "right":
			d.Right++
			fallthrough
		default:
			d.Asked++
		}
	}
	reactions := membersOf(members["reactions"])
	json.Unmarshal(reactions["count"], &d.Reactions)
	if d.Reactions > 0 {
		d.ReactionMS = numberOf(reactions["median_ms"])
	}
	for _, one := range elementsOf(members["injections"]) {
		in := membersOf(one)
		next := Injection{Abnormal: stringOf(in["abnormal"]), Outcome: stringOf(in["outcome"]),
			DetectionMS: numberOf(in["detection_ms"]), HandlingMS: numberOf(in["handling_ms"])}
		json.Unmarshal(in["harmless"], &next.Harmless)
		d.Injections = append(d.Injections, next)
	}
	return &d
}

func membersOf(body json.RawMessage) (members map[string]json.RawMessage) {
	json.Unmarshal(body, &members)
	return members
}

func elementsOf(body json.RawMessage) (all []json.RawMessage) {
	json.Unmarshal(body, &all)
	return all
}

func stringOf(body json.RawMessage) (s string) {
	json.Unmarshal(body, &s)
	return s
}

func numberOf(body json.RawMessage) *float64 {
	var v *float64
	if json.Unmarshal(body, &v) != nil {
		return nil
	}
	return v
}
