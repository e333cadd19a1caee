package desk

import (
	"encoding/json"
	"fmt"
	"os"
	"sync"
	"time"

	"hornlark/drill"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/score"
)

// Keeper keeps a live sitting in the records. Whatever happens to the disk, the sitting goes on: what could not be
// written ends up in a file of its own.
type Keeper struct {
	store   *record.Store
	writer  *record.Writer
	version string // of the program
	told    int    // notices of the store
}

// OpeningRecords begins to open the records for a sitting, beside whatever else makes it ready. What it gives waits until they are open.
// Where there are none yet they are made then: whoever stops before the sitting has begun leaves nothing behind.
func OpeningRecords() (opened func() (*Keeper, error)) {
	open := sync.OnceValues(openRecords)
	if path, err := record.DefaultPath(); err == nil {
		if _, err := os.Stat(path); err == nil {
			go open()
		}
	}
	return open
}

// openRecords opens the records for a sitting. If they cannot be opened now the sitting is kept in its journal.
func openRecords() (*Keeper, error) {
	path, err := record.DefaultPath()
	if err != nil {
		return nil, fmt.Errorf("there is no place for the records: %w; set HORNLARK_DATA to a folder", err)
	}
	store, err := record.Open(path)
	if err != nil {
		store = record.WithoutDatabase(path, err)
	}
	return &Keeper{store: store}, nil
}

// News is what is to be told about the records and has not been yet.
func (k *Keeper) News() []string {
	notices := k.store.Notices()
	news := notices[k.told:]
	k.told = len(notices)
	return news
}

// Begin begins to keep a sitting. One of which nothing would be left does not begin: that it was practised for nothing would only be known
// afterwards. After an error the records are still to be closed.
func (k *Keeper) Begin(s record.Sitting) (err error) {
	k.version = s.Version
	if k.writer, err = k.store.BeginAtOnce(s); err != nil {
		return err
	}
	if err := k.writer.Nowhere(); err != nil {
		k.writer.Abandon()
		return fmt.Errorf("the sitting has not begun, since %w", err)
	}
	return nil
}

// Entry keeps an entry of the log.
func (k *Keeper) Entry(e logbook.Entry) { k.writer.Append(e) }

// Input keeps what the sitting was told, and when, since it began.
func (k *Keeper) Input(at time.Duration, e drill.Event) { k.writer.Input(at, drill.EncodeEvent(e)) }

// ID is the number of the sitting in the records; 0 while there is none.
func (k *Keeper) ID() int64 { return k.writer.ID() }

// Trouble is what a trainee should know about the records while the sitting goes on.
func (k *Keeper) Trouble() string {
	if err := k.writer.Err(); err != nil {
		return "records: " + err.Error()
	}
	return ""
}

// End keeps the result, and what is drawn from it, and closes the records.
func (k *Keeper) End(ex *Exercise, result *score.Result) error {
	if err := ex.Finish(k.writer, k.version, result); err != nil {
		k.store.Close()
		return err
	}
	return k.store.Close()
}

// Close closes the records of a sitting that has not begun.
func (k *Keeper) Close() error { return k.store.Close() }

// Record is what the records are to know of a sitting before it begins, as far as that is in what it goes by.
func (ex *Exercise) Record() record.Sitting {
	return record.Sitting{
		Scenario: ex.Scenario.Name, Procedure: ex.Procedure().Name, Profile: ex.Profile.Name, Policy: ex.PolicyName(), Seed: ex.Seed,
		Plan: record.HashOf(ex.Documents), Documents: ex.Documents, Lead: ex.Lead,
	}
}

// Finish has the records keep the result, and what is drawn from it by the program of that version.
func (ex *Exercise) Finish(w *record.Writer, version string, result *score.Result) error {
	body, err := json.Marshal(result)
	if err != nil {
		return err
	}
	digest := DigestOf(result)
	digest.Trials = &record.Trials{Rules: score.Rules, Version: version, Body: ex.PackTrials(result)}
	return w.End(body, result.Completed, digest)
}
