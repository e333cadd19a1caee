package record

import (
	"bytes"
	"crypto/rand"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"
	"time"

	"hornlark/drill/logbook"
)

const (
	// commitEvery is how long an entry waits for others to be committed with it.
	commitEvery = 10 * time.Millisecond

	// retryEvery is the wait after a commit that failed.
	retryEvery = 500 * time.Millisecond

	// beginWithin is how long Begin waits for the database to have the sitting.
	beginWithin = 250 * time.Millisecond

	// maxWaiting is how many entries and inputs may wait for a database that cannot be written. With more, they are in
	// the sitting's journal alone, so that memory does not fill up.
	maxWaiting = 50_000
)

// Writer keeps one sitting while it goes on. Append and Input never wait for the disk. What they are given goes into the
// sitting's journal at once and into the database in bundles. If the database cannot be written the sitting goes on: what
// there is to write waits, is tried again, and is in the journal for the next time that the records are opened.
type Writer struct {
	store   *Store
	uid     string
	sitting Sitting
	clock   time.Time // when it began, by a clock that may be wrong and does go on
	journal *journal

	mu        sync.Mutex
	id        int64 // of the sitting's row; 0 while it has none
	opening   int64 // of the store's database that has that row
	waiting   batch
	oldest    time.Time // since when the database has had something to write; zero: it has not
	unwritten []byte    // lines that the journal has not got yet
	entries   map[int]struct{}
	inputs    int // numbered so far
	err       error

	stored   chan struct{} // closed when the database has answered for the first time
	wake     chan struct{} // something waits for the database
	write    chan struct{} // something waits for the journal
	written  chan struct{} // the journal has got something
	ending   chan struct{}
	done     sync.WaitGroup
	end      sync.Once
	ended    error
	notWhole error // why the journal has not got everything
}

// batch is what waits to be written.
type batch struct {
	entries []event
	inputs  []numbered
}

func (b *batch) size() int { return len(b.entries) + len(b.inputs) }

// Begin begins to keep a sitting, and gives the database a moment to have it. Its only error is for a sitting that says too little
// about itself; that the database cannot be written is told by Err.
func (s *Store) Begin(sitting Sitting) (*Writer, error) {
	w, err := s.BeginAtOnce(sitting)
	if err != nil {
		return nil, err
	}
	select {
	case <-w.stored:
	case <-time.After(beginWithin):
	}
	return w, nil
}

// BeginAtOnce is Begin for whoever cannot wait: the sitting is in its journal, and will be in the database soon.
func (s *Store) BeginAtOnce(sitting Sitting) (*Writer, error) {
	if err := sitting.begun(); err != nil {
		return nil, err
	}
	sitting.LogVersion = logbook.Version
	clock := sitting.Started.Add(-sitting.Moved)
	if clock == clock.Round(0) { // it says nothing of the clock that nobody sets
		clock = time.Now()
	}
	at := sitting.Started
	if sitting.Started = believed(at); !sitting.Started.Equal(at) {
		s.notice("the clock of this machine stands at %s, which cannot be; set it. The sitting is kept without a date", at.UTC().Format("2 January 2006 15:04"))
	}
	w := &Writer{
		store: s, uid: rand.Text(), sitting: sitting, clock: clock, entries: map[int]struct{}{}, oldest: time.Now(),
		stored: make(chan struct{}), wake: make(chan struct{}, 1), write: make(chan struct{}, 1), written: make(chan struct{}, 1), ending: make(chan struct{}),
	}
	w.journal = newJournal(s.asideFolders(), w.uid, &w.sitting)
	w.notWhole = w.journal.write(nil)
	w.done.Go(func() { w.commitWaiting(); close(w.stored); w.run() })
	w.done.Go(w.keepJournal)
	w.done.Go(w.syncJournal)
	return w, nil
}

// ID is the number of the sitting in the store, or 0 while it could not be stored.
func (w *Writer) ID() int64 {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.id
}

// Err is why the database cannot be written at the moment, or nil if it can.
func (w *Writer) Err() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.err
}

// Nowhere is why nothing of the sitting is kept at the moment: neither the database takes it nor a journal. It is nil if one of them does.
// Where there is no journal it waits for what the database says first.
func (w *Writer) Nowhere() error {
	w.mu.Lock()
	notWhole := w.notWhole
	w.mu.Unlock()
	if notWhole == nil {
		return nil
	}
	<-w.stored
	err := w.Err()
	if err == nil {
		return nil
	}
	places := []string{fmt.Sprintf("in %s (%s)", w.store.path, reason(err))}
	if each, ok := notWhole.(interface{ Unwrap() []error }); ok { // of each folder
		for i, err := range each.Unwrap() {
			places = append(places, fmt.Sprintf("in %s (%s)", w.journal.folders[i], reason(err)))
		}
	}
	return fmt.Errorf("it could be kept nowhere: not %s; make room, or set HORNLARK_DATA to a folder that can be written", strings.Join(places, ", and not "))
}

// reason is an error in few words, for whoever has been told the place.
func reason(err error) string {
	var path *fs.PathError
	if words, _, ok := strings.Cut(inWords[code(err)], ";"); ok {
		return words
	}
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}

// Append adds an entry to the log. It returns at once.
func (w *Writer) Append(e logbook.Entry) {
	kept := eventOf(e)
	w.mu.Lock()
	w.entries[e.Seq] = struct{}{}
	w.waiting.entries = append(w.waiting.entries, kept)
	w.toWrite(line{Entry: kept.body})
	w.mu.Unlock()
	w.nudge()
}

// Input adds an input, encoded as JSON by the caller, who may use body again. It returns at once.
func (w *Writer) Input(at time.Duration, body []byte) {
	body = valid(body)
	w.mu.Lock()
	w.inputs++
	in := numbered{w.inputs, Input{at, body}}
	w.waiting.inputs = append(w.waiting.inputs, in)
	w.toWrite(line{Input: &in})
	w.mu.Unlock()
	w.nudge()
}

// toWrite puts a line down for the journal. The lock is held.
func (w *Writer) toWrite(l line) {
	w.unwritten = append(w.unwritten, lineOf(l)...)
	if w.oldest.IsZero() {
		w.oldest = time.Now()
	}
}

// lineOf is a line of a journal. The documents in it stay as they are, to the byte: they are known by their hash. What is not JSON has
// been made a text before.
func lineOf(l line) []byte { return append(toJSON(l), '\n') }

// valid copies a JSON value. The database would refuse anything else, and so would not take what comes after it either:
// that is kept as a text.
func valid(body []byte) []byte {
	if json.Valid(body) {
		return slices.Clone(body)
	}
	text, err := json.Marshal(string(body))
	if err != nil {
		panic(err) // a string can always be written
	}
	return text
}

func (w *Writer) nudge() {
	nudge(w.write)
	nudge(w.wake)
}

func nudge(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

// run commits what waits until the sitting ends.
func (w *Writer) run() {
	for {
		select {
		case <-w.ending:
			return
		case <-w.wake:
		}
		pause := commitEvery
		if w.Err() != nil {
			pause = retryEvery
		}
		select {
		case <-w.ending:
			return
		case <-time.After(pause):
		}
		w.commitWaiting()
	}
}

// commitWaiting commits what waits, and sees to it that it is tried again if that fails.
func (w *Writer) commitWaiting() {
	if w.commit(nil) != nil {
		w.relieve(maxWaiting)
		nudge(w.wake)
	}
}

// keepJournal writes what waits for the journal until the sitting ends.
func (w *Writer) keepJournal() {
	again := time.NewTimer(time.Hour)
	defer again.Stop()
	for {
		select {
		case <-w.ending:
			return
		case <-w.write:
		case <-again.C:
		}
		if w.writeJournal() != nil {
			again.Reset(journalRetry)
		}
	}
}

// writeJournal writes what waits for the journal. What could not be written waits on.
func (w *Writer) writeJournal() error {
	w.mu.Lock()
	lines := w.unwritten
	w.unwritten = nil
	w.mu.Unlock()
	if len(lines) == 0 {
		return nil // of what could not be written there are some
	}
	err := w.journal.write(lines)
	w.mu.Lock()
	w.notWhole = err
	if err != nil {
		w.unwritten = append(lines, w.unwritten...)
	}
	w.mu.Unlock()
	nudge(w.written)
	return err
}

// syncJournal has the journal synced while the database is behind.
func (w *Writer) syncJournal() {
	for {
		select {
		case <-w.ending:
			return
		case <-w.written:
		}
		select {
		case <-w.ending:
			return
		case <-time.After(behindAfter):
		}
		w.mu.Lock()
		behind := !w.oldest.IsZero() && time.Since(w.oldest) >= behindAfter
		w.mu.Unlock()
		if behind {
			w.journal.sync() // an error leaves it to the database
		}
	}
}

// relieve lets go of what waits once it is more than so many, if the journal has it.
func (w *Writer) relieve(most int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.waiting.size() > most && len(w.unwritten) == 0 && w.notWhole == nil {
		w.waiting = batch{}
	}
}

// End writes what still waits, the result, which is JSON, and the digest of that, and ends. If the database cannot be
// written, everything is in the journal; the error is then an *Unsaved.
func (w *Writer) End(body []byte, complete bool, digest Digest) error {
	w.end.Do(func() {
		close(w.ending)
		w.done.Wait()
		// By the clock that nobody sets, where the beginning has it: an end is never before it.
		ended := w.sitting.Started.Add(time.Since(w.clock))
		r := &result{Ended: ended, Complete: complete, Body: valid(body), Digest: digest.finite()}
		w.mu.Lock()
		w.toWrite(line{Result: r})
		w.mu.Unlock()
		notWhole := w.writeJournal()
		err := w.commit(r)
		if err == nil {
			err = w.makeWhole()
		}
		if err == nil {
			w.ended = w.journal.close(false)
			return
		}
		w.mu.Lock()
		w.err = err
		w.mu.Unlock()
		unsaved := &Unsaved{Err: errors.Join(err, notWhole)}
		if notWhole == nil {
			unsaved.Path = w.journal.names()[0]
		}
		unsaved.Err = errors.Join(unsaved.Err, w.journal.close(true))
		w.ended = unsaved
	})
	return w.ended
}

// Abandon leaves the sitting as if the program had been killed: what has been written stays, and no end.
func (w *Writer) Abandon() {
	w.end.Do(func() {
		close(w.ending)
		w.done.Wait()
		w.ended = w.journal.close(true)
	})
}

// makeWhole compares what the database has of the sitting with what it was given, and takes in the journal if something
// is missing: it was let go of while the database could not be written, or was lost with a database that was damaged.
func (w *Writer) makeWhole() error {
	if w.isWhole() == nil {
		return nil
	}
	for _, name := range w.journal.names() {
		if _, err := w.store.takeIn(name); err != nil {
			return err
		}
	}
	return w.isWhole()
}

func (w *Writer) isWhole() error {
	entries, inputs := len(w.entries), w.inputs
	counted, err := collect(w.store, `SELECT (SELECT count(*) FROM event WHERE sitting = s.id), (SELECT count(*) FROM input WHERE sitting = s.id),
		(SELECT count(*) FROM result WHERE sitting = s.id) FROM sitting s WHERE s.uid = ?`, []any{w.uid}, func(rows *sql.Rows) (c [3]int, err error) {
		return c, rows.Scan(&c[0], &c[1], &c[2])
	})
	switch {
	case err != nil:
		return err
	case len(counted) != 1 || counted[0] != [3]int{entries, inputs, 1}:
		return errors.New("not all of it is in the records")
	}
	return nil
}

// commit writes the sitting, if it has not been yet, and what waits; and the result, if there is one. What could not be
// written waits on.
func (w *Writer) commit(r *result) error {
	began := time.Now()
	b := w.take()
	var id, opening int64
	err := w.store.write(func(tx *sql.Tx) (err error) {
		opening = w.store.opening.Load()
		if id, err = w.row(tx, opening); err != nil {
			return err
		}
		if err := insertEvents(tx, id, b.entries); err != nil {
			return err
		}
		if err := insertInputs(tx, id, b.inputs); err != nil {
			return err
		}
		return insertResult(tx, id, r)
	})
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.err = err; err != nil {
		w.waiting.entries = append(b.entries, w.waiting.entries...)
		w.waiting.inputs = append(b.inputs, w.waiting.inputs...)
		return err
	}
	w.id, w.opening = id, opening
	w.oldest = time.Time{}
	if w.waiting.size() > 0 {
		w.oldest = began // or a little later: what waits came while this was written
	}
	return nil
}

// take takes what waits.
func (w *Writer) take() batch {
	w.mu.Lock()
	defer w.mu.Unlock()
	b := w.waiting
	w.waiting = batch{}
	return b
}

// row gives the number of the sitting in the database that is open, and stores the sitting if it has none.
func (w *Writer) row(tx *sql.Tx, opening int64) (int64, error) {
	w.mu.Lock()
	id := w.id
	if w.opening != opening {
		id = 0
	}
	w.mu.Unlock()
	if id != 0 {
		return id, nil
	}
	return insertNext(tx, w.uid, &w.sitting)
}

// insertNext stores a sitting of this desk. It stands after all others, whatever the clock said.
func insertNext(tx *sql.Tx, uid string, s *Sitting) (id int64, err error) {
	var last int64
	if err := tx.QueryRow("SELECT coalesce(max(place), 0) FROM sitting").Scan(&last); err != nil {
		return 0, err
	}
	return insertSitting(tx, uid, s, last+1)
}

// Everything is inserted unless it is there already: a commit may have succeeded and have been told to have failed, and
// a journal may be taken in twice. What is there under the same number has to be the same, whatever came of it.

// errContradicts is for what the records have otherwise.
var errContradicts = errors.New("the records have it otherwise")

// added reports whether a row was inserted: it was not there.
func added(done sql.Result) bool {
	n, _ := done.RowsAffected() // which SQLite always knows
	return n > 0
}

// same reports whether two JSON values are the same.
func same(a, b []byte) bool {
	x, errA := canonical(a)
	y, _ := canonical(b) // nothing, if there is none
	return errA == nil && bytes.Equal(x, y)
}

// insertSitting stores what is known of a sitting from its beginning, in its place: by its start, but after what place says at least.
func insertSitting(tx *sql.Tx, uid string, s *Sitting, place int64) (id int64, err error) {
	var trainee any
	if s.Trainee != "" {
		if _, err := tx.Exec("INSERT INTO trainee (name) VALUES (?) ON CONFLICT DO NOTHING", s.Trainee); err != nil {
			return 0, err
		}
		if err := tx.QueryRow("SELECT id FROM trainee WHERE name = ?", s.Trainee).Scan(&id); err != nil {
			return 0, err
		}
		trainee = id
	}
	if len(s.Documents) > 0 {
		if err := insertPlan(tx, s); err != nil {
			return 0, err
		}
	}
	_, err = tx.Exec(`INSERT INTO sitting (uid, trainee, scenario, procedure, profile, policy, seed, started_ns, version,
		plan, layout, lead_ns, buffer_ns, latency_ns, heard, moved_ns, log_version, place) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		uid, trainee, s.Scenario, s.Procedure, s.Profile, s.Policy, int64(s.Seed), s.Started.UnixNano(), s.Version,
		s.Plan, s.Layout, int64(s.Lead), int64(s.Buffer), int64(s.Latency), s.Heard, int64(s.Moved), s.LogVersion, max(s.Started.UnixNano(), place))
	if err != nil {
		return 0, err
	}
	var version int
	err = tx.QueryRow("SELECT id, log_version FROM sitting WHERE uid = ?", uid).Scan(&id, &version)
	if err == nil && version != s.LogVersion {
		err = fmt.Errorf("the records have this sitting with a log of version %d, and here it is of version %d", version, s.LogVersion)
	}
	return id, err
}

// insertPlan stores the documents of a sitting, unless they are there. Others under their name are damaged ones.
func insertPlan(tx *sql.Tx, s *Sitting) error {
	documents := s.Documents
	if HashOf(documents) != s.Plan {
		if again, _ := asWritten(documents); HashOf(again) == s.Plan {
			documents = again // journals of earlier versions have them with other escapes
		}
	}
	done, err := tx.Exec("INSERT INTO plan (hash, body) VALUES (?, ?) ON CONFLICT DO NOTHING", s.Plan, string(documents))
	if err != nil {
		return err
	}
	if added(done) {
		return nil
	}
	var body string
	err = tx.QueryRow("SELECT body FROM plan WHERE hash = ?", s.Plan).Scan(&body)
	if err == nil && HashOf([]byte(body)) != s.Plan && HashOf(documents) == s.Plan {
		err = fmt.Errorf("the documents: %w", errContradicts)
	}
	return err
}

func insertInputs(tx *sql.Tx, id int64, inputs []numbered) error {
	if len(inputs) == 0 {
		return nil
	}
	insert, err := tx.Prepare("INSERT INTO input (sitting, seq, at_ns, body) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING")
	if err != nil {
		return err
	}
	defer insert.Close()
	for _, in := range inputs {
		done, err := insert.Exec(id, in.Seq, int64(in.At), string(in.Body))
		if err != nil {
			return err
		}
		if !added(done) {
			err = holdsInput(tx, id, &in)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// holdsInput looks whether the input that is there is the same.
func holdsInput(tx *sql.Tx, id int64, in *numbered) error {
	var at int64
	var body string
	err := tx.QueryRow("SELECT at_ns, body FROM input WHERE sitting = ? AND seq = ?", id, in.Seq).Scan(&at, &body)
	if err == nil && (at != int64(in.At) || !same([]byte(body), in.Body)) {
		return fmt.Errorf("input %d: %w", in.Seq, errContradicts)
	}
	return err
}

func insertResult(tx *sql.Tx, id int64, r *result) error {
	if r == nil {
		return nil
	}
	done, err := tx.Exec("INSERT INTO result (sitting, ended_ns, complete, body) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
		id, r.Ended.UnixNano(), r.Complete, string(r.Body))
	if err != nil {
		return err
	}
	if !added(done) {
		var complete bool
		var body string
		err = tx.QueryRow("SELECT complete, body FROM result WHERE sitting = ?", id).Scan(&complete, &body)
		if err == nil && (complete != r.Complete || !same([]byte(body), r.Body)) {
			err = fmt.Errorf("the result: %w", errContradicts)
		}
		return err
	}
	digest := r.Digest
	if digest == nil {
		digest = digestOfFirst(r.Body)
	}
	return insertDigest(tx, id, digest)
}
