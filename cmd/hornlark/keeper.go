package main

import (
	"encoding/json"
	"fmt"
	"os"
	"sync"
	"time"

	"hornlark/audio"
	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/score"
)

// keeper keeps a live sitting in the records. Whatever happens to the disk, the sitting goes on: what could not be
// written ends up in a file of its own.
type keeper struct {
	store  *record.Store
	writer *record.Writer
	told   int // notices of the store
}

// openingRecords begins to open the records for a sitting, beside whatever else makes it ready. What it gives waits until they are open.
// Where there are none yet they are made then: whoever stops before the sitting has begun leaves nothing behind.
func openingRecords() (opened func(streams) (*keeper, error)) {
	open := sync.OnceValues(openKeeper)
	if path, err := record.DefaultPath(); err == nil {
		if _, err := os.Stat(path); err == nil {
			go open()
		}
	}
	return func(s streams) (*keeper, error) {
		k, err := open()
		if err == nil {
			k.tell(s)
		}
		return k, err
	}
}

// openKeeper opens the records for a sitting. If they cannot be opened now the sitting is kept in its journal.
func openKeeper() (*keeper, error) {
	path, err := record.DefaultPath()
	if err != nil {
		return nil, fmt.Errorf("there is no place for the records: %w; set HORNLARK_DATA to a folder", err)
	}
	store, err := record.Open(path)
	if err != nil {
		store = record.WithoutDatabase(path, err)
	}
	return &keeper{store: store}, nil
}

// tell says what is to be said about the records and has not been yet. On a screen that has to wait until it is gone.
func (k *keeper) tell(s streams) {
	notices := k.store.Notices()
	for _, notice := range notices[k.told:] {
		fmt.Fprintln(s.err, notice)
	}
	k.told = len(notices)
}

// begin begins to keep a sitting. One of which nothing would be left does not begin: that it was practised for nothing would only be known
// afterwards.
func (k *keeper) begin(ex *desk.Exercise, o *drillOptions, sound *audio.Output, began time.Time) (err error) {
	k.writer, err = k.store.BeginAtOnce(record.Sitting{
		Trainee: o.trainee, Scenario: ex.Scenario.Name, Procedure: ex.Procedure().Name, Profile: ex.Profile.Name,
		Policy: ex.PolicyName(), Seed: ex.Seed, Started: recordsTime(began), Moved: recordsMoved(), Version: version,
		Plan: record.HashOf(ex.Documents), Documents: ex.Documents, Layout: string(o.keyboard()), Lead: sound.Lead(), Buffer: sound.Buffer(), Heard: !sound.Health().Silent,
	})
	if err != nil {
		return err
	}
	if err := k.writer.Nowhere(); err != nil {
		k.writer.Abandon()
		return fmt.Errorf("the sitting has not begun, since %w", err)
	}
	return nil
}

func (k *keeper) entry(e logbook.Entry) { k.writer.Append(e) }

func (k *keeper) input(at time.Duration, e drill.Event) { k.writer.Input(at, drill.EncodeEvent(e)) }

// trouble is what a trainee should know about the records while the sitting goes on.
func (k *keeper) trouble() string {
	if err := k.writer.Err(); err != nil {
		return "records: " + err.Error()
	}
	return ""
}

// end keeps the result and closes the records.
func (k *keeper) end(s streams, ex *desk.Exercise, result *score.Result) error {
	defer func() { k.tell(s) }()
	if err := k.finish(ex, result); err != nil {
		k.store.Close()
		return err
	}
	return k.store.Close()
}

// finish keeps the result, and what is drawn from it.
func (k *keeper) finish(ex *desk.Exercise, result *score.Result) error {
	body, err := json.Marshal(result)
	if err != nil {
		return err
	}
	digest := digestOf(result)
	digest.Trials = &record.Trials{Rules: score.Rules, Version: version, Body: ex.PackTrials(result)}
	return k.writer.End(body, result.Completed, digest)
}
