package desk

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"hornlark/drill"
	"hornlark/drill/fault"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/score"
)

// Replayed is what a sitting comes to when it is gone through again.
type Replayed struct {
	Log   []logbook.Entry
	Heard []drill.Output // what was asked to be heard, and to be quiet
}

// Begin makes the sitting anew, before anything has happened.
func (k *Kept) Begin() *drill.Sitting { return k.Ex.Begin(k.Ex.Seed, k.Lead) }

// Again goes through the sitting from its inputs. The error is that of an input which it does not take.
func (k *Kept) Again() (*Replayed, error) {
	var r Replayed
	err := k.Begin().Replay(k.Inputs, k.Lasted(), func(o drill.Output) error {
		switch o := o.(type) {
		case drill.Log:
			r.Log = append(r.Log, o.Entry)
		case drill.Ended:
		default:
			r.Heard = append(r.Heard, o)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("sitting %d cannot be gone through again: %w", k.ID, err)
	}
	return &r, nil
}

// LogCompared is how the log of a kept sitting compares with the one that it comes to again.
type LogCompared struct {
	Skipped bool           // it was kept in another version of the log than this program writes
	Same    int            // entries that are the same, from the first
	Kept    *logbook.Entry // the first one that differs; nil where there is none any more
	Again   *logbook.Entry
	Where   string // of both, what differs
}

// Differs reports whether they do, as far as they were compared.
func (c *LogCompared) Differs() bool { return c.Kept != nil || c.Again != nil }

// CompareLog compares the log with another one. That of a sitting that was killed may end before the other does: the last of it was not on
// the disk yet.
func (k *Kept) CompareLog(again []logbook.Entry) LogCompared {
	var c LogCompared
	if c.Skipped = k.LogVersion != logbook.Version; c.Skipped {
		return c
	}
	for c.Same < min(len(k.Ex.Log), len(again)) && k.Ex.Log[c.Same] == again[c.Same] {
		c.Same++
	}
	if c.Same < len(k.Ex.Log) {
		c.Kept = &k.Ex.Log[c.Same]
	}
	if c.Same < len(again) && (c.Kept != nil || k.State != record.Unended) {
		c.Again = &again[c.Same]
	}
	if c.Kept != nil && c.Again != nil {
		c.Where, _, _ = firstDifference(fmt.Sprintf("entry %d", c.Same+1), loose(*c.Kept), loose(*c.Again))
	}
	return c
}

// ScoreCompared is how the result of a kept sitting compares with that of another log.
type ScoreCompared struct {
	None       bool        // none was kept
	Rules      int         // that it was kept by; others than score.Rules are not compared
	Difference *Difference // nil: none
}

// CompareScore compares the result with what another log comes to. The error is that of a result which cannot be read.
func (k *Kept) CompareScore(again []logbook.Entry) (c ScoreCompared, err error) {
	if c.None = k.Result == nil; c.None {
		return c, nil
	}
	var before any
	if err := json.Unmarshal(k.Result, &before); err != nil {
		return c, fmt.Errorf("the result that was kept cannot be read: %w", err)
	}
	if c.Rules = RulesOf(before); c.Rules == score.Rules {
		c.Difference = FirstDifference(before, loose(score.Judge(k.Ex.Sheet(k.Ex.Seed), again)))
	}
	return c, nil
}

// RulesOf gives the rules that a kept result was judged by. The first ones did not say so.
func RulesOf(result any) int {
	if fields, ok := result.(map[string]any); ok {
		if rules, ok := fields["rules"].(float64); ok {
			return int(rules)
		}
	}
	return 1
}

// loose gives a value as JSON has it.
func loose(v any) (out any) {
	body, err := json.Marshal(v)
	if err == nil {
		err = json.Unmarshal(body, &out)
	}
	if err != nil {
		panic(err) // only a type that is no JSON
	}
	return out
}

// Difference is where two values first differ, and what they are there, in a few words.
type Difference struct {
	Where    string // a path, or "the whole"
	Was, Now string
}

// FirstDifference finds where two values that JSON has been decoded to first differ, in the order of the names; nil if they do not. A member
// that is missing is nothing.
func FirstDifference(was, now any) *Difference {
	where, x, y := firstDifference("", was, now)
	if where == "" {
		return nil
	}
	return &Difference{where, short(x), short(y)}
}

// firstDifference finds where two JSON values first differ, in the order of the names; the path is empty if they do not.
// A member that is missing is null.
func firstDifference(path string, a, b any) (where string, x, y any) {
	switch a := a.(type) {
	case map[string]any:
		if b, ok := b.(map[string]any); ok {
			return differenceOfObjects(path, a, b)
		}
	case []any:
		if b, ok := b.([]any); ok {
			return differenceOfLists(path, a, b)
		}
	default:
		if a == b {
			return "", nil, nil
		}
	}
	return cmp.Or(path, "the whole"), a, b
}

func differenceOfObjects(path string, a, b map[string]any) (where string, x, y any) {
	names := slices.Sorted(maps.Keys(a))
	names = append(names, slices.Sorted(maps.Keys(b))...)
	slices.Sort(names)
	for _, name := range slices.Compact(names) {
		if where, x, y = firstDifference(fault.Join(path, name), a[name], b[name]); where != "" {
			return where, x, y
		}
	}
	return "", nil, nil
}

func differenceOfLists(path string, a, b []any) (where string, x, y any) {
	at := func(list []any, i int) any {
		if i < len(list) {
			return list[i]
		}
		return nil
	}
	for i := range max(len(a), len(b)) {
		if where, x, y = firstDifference(fault.At(path, i), at(a, i), at(b, i)); where != "" {
			return where, x, y
		}
	}
	return "", nil, nil
}

// short is a JSON value in a few words.
func short(v any) string {
	if v == nil {
		return "nothing"
	}
	body, err := json.Marshal(v)
	if err != nil {
		panic(err) // it has been JSON
	}
	if text := []rune(string(body)); len(text) > 60 {
		return string(text[:60]) + "…"
	}
	return string(body)
}
