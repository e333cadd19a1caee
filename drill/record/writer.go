package record

import (
	"crypto/rand"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"hornlark/drill/logbook"
)

const (
	// commitEvery is how long an entry waits for others to be committed with it. It has to be on the disk within 50 ms;
	// at worst it comes just after a commit has begun, waits for that, then for this, and then for its own commit.
	commitEvery = 10 * time.Millisecond

	// retryEvery is the wait after a commit that failed.
	retryEvery = 500 * time.Millisecond

	// maxWaiting is how many entries and inputs may wait for a database that cannot be written. With more, they go to
	// the sitting's own file, so that memory does not fill up.
	maxWaiting = 50_000
)

// Writer keeps one sitting while it goes on. Append and Input never wait for the disk. If the database cannot be written
// the sitting goes on: what there is to write waits, is tried again, and at the end goes to a file of its own.
type Writer struct {
	store   *Store
	uid     string
	sitting Sitting

	mu      sync.Mutex
	id      int64 // of the sitting's row; 0 while it has none
	waiting batch
	inputs  int // numbered so far
	err     error
	aside   *aside // the file for what could not be stored; nil until it is needed

	wake   chan struct{} // something waits
	ending chan struct{}
	done   chan struct{}
	end    sync.Once
	ended  error
}

// batch is what waits to be written.
type batch struct {
	entries []event
	inputs  []numbered
}

func (b *batch) size() int { return len(b.entries) + len(b.inputs) }

// Begin begins to keep a sitting. Its only error is for a sitting that says too little about itself; that the database
// cannot be written is told by Err.
func (s *Store) Begin(sitting Sitting) (*Writer, error) {
	if sitting.Scenario == "" || sitting.Procedure == "" || sitting.Profile == "" || sitting.Policy == "" || sitting.Started.IsZero() {
		return nil, errors.New("a sitting needs a scenario, a procedure, a profile, a policy and a beginning")
	}
	sitting.LogVersion = logbook.Version
	w := &Writer{
		store: s, uid: rand.Text(), sitting: sitting,
		wake: make(chan struct{}, 1), ending: make(chan struct{}), done: make(chan struct{}),
	}
	w.commit(nil)
	go w.run()
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

// Append adds an entry to the log. It returns at once.
func (w *Writer) Append(e logbook.Entry) {
	kept := eventOf(e)
	w.mu.Lock()
	w.waiting.entries = append(w.waiting.entries, kept)
	w.mu.Unlock()
	w.nudge()
}

// Input adds an input, encoded as JSON by the caller, who may use body again. It returns at once.
func (w *Writer) Input(at time.Duration, body []byte) {
	body = valid(body)
	w.mu.Lock()
	w.inputs++
	w.waiting.inputs = append(w.waiting.inputs, numbered{w.inputs, Input{at, body}})
	w.mu.Unlock()
	w.nudge()
}

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
	select {
	case w.wake <- struct{}{}:
	default:
	}
}

// run commits what waits until the sitting ends.
func (w *Writer) run() {
	defer close(w.done)
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
		if w.commit(nil) != nil {
			w.relieve()
			w.nudge()
		}
	}
}

// End writes what still waits, the result, which is JSON, and the digest of that, and ends. If the database cannot be written, everything that
// is not in it goes to a file; the error is then an *Unsaved.
func (w *Writer) End(body []byte, complete bool, digest Digest) error {
	w.end.Do(func() {
		close(w.ending)
		<-w.done
		r := &result{Ended: time.Now(), Complete: complete, Body: valid(body), Digest: digest.finite()}
		err := w.commit(r)
		if err != nil || w.aside != nil {
			w.setAside(r)
		}
		w.ended = w.asideError(err)
	})
	return w.ended
}

// commit writes the sitting, if it has not been yet, and what waits; and the result, if there is one. What could not be
// written waits on.
func (w *Writer) commit(r *result) error {
	b := w.take()
	var id int64
	err := w.store.write(func(tx *sql.Tx) (err error) {
		if id, err = w.row(tx); err != nil {
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
	w.id = id
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

// row gives the number of the sitting, and stores the sitting if it has none.
func (w *Writer) row(tx *sql.Tx) (int64, error) {
	if id := w.ID(); id != 0 {
		return id, nil
	}
	return insertSitting(tx, w.uid, &w.sitting)
}

// Everything is inserted unless it is there already: a commit may have succeeded and have been told to have failed, and
// a file that could not be stored may be taken in twice.

func insertSitting(tx *sql.Tx, uid string, s *Sitting) (id int64, err error) {
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
		if _, err := tx.Exec("INSERT INTO plan (hash, body) VALUES (?, ?) ON CONFLICT DO NOTHING", s.Plan, string(s.Documents)); err != nil {
			return 0, err
		}
	}
	_, err = tx.Exec(`INSERT INTO sitting (uid, trainee, scenario, procedure, profile, policy, seed, started_ns, version,
		plan, layout, lead_ns, buffer_ns, latency_ns, heard, log_version) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		uid, trainee, s.Scenario, s.Procedure, s.Profile, s.Policy, int64(s.Seed), s.Started.UnixNano(), s.Version,
		s.Plan, s.Layout, int64(s.Lead), int64(s.Buffer), int64(s.Latency), s.Heard, s.LogVersion)
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

func insertInputs(tx *sql.Tx, id int64, inputs []numbered) error {
	for _, in := range inputs {
		_, err := tx.Exec("INSERT INTO input (sitting, seq, at_ns, body) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
			id, in.Seq, int64(in.At), string(in.Body))
		if err != nil {
			return err
		}
	}
	return nil
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
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return err
	}
	digest := r.Digest
	if digest == nil {
		digest = digestOfFirst(r.Body)
	}
	return insertDigest(tx, id, digest)
}
