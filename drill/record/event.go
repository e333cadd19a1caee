package record

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"hornlark/drill/logbook"
)

// event is an entry of a log as it is kept: in the words of the version that wrote it, whatever that is.
type event struct {
	Seq  int           `json:"seq"`
	At   time.Duration `json:"at"`
	Kind string        `json:"kind"`
	body []byte        // the whole entry
}

func eventOf(e logbook.Entry) event { return event{e.Seq, e.At, string(e.Kind), encode(e)} }

// eventIn reads as much of an entry as every version has. Whether it is one of its version's is seen when it is read.
func eventIn(body []byte) (e event, err error) {
	err = json.Unmarshal(body, &e)
	e.body = body
	return e, err
}

// encode writes an entry as JSON, which knows no infinite numbers: such a one is kept in the text.
func encode(e logbook.Entry) []byte {
	if math.IsNaN(e.Value) || math.IsInf(e.Value, 0) {
		e.Text, e.Value = fmt.Sprintf("%s (value %g)", e.Text, e.Value), 0
	}
	body, err := json.Marshal(e)
	if err != nil {
		panic(err) // a struct of strings and finite numbers can always be written
	}
	return body
}

func insertEvents(tx *sql.Tx, id int64, events []event) error {
	if len(events) == 0 {
		return nil
	}
	insert, err := tx.Prepare("INSERT INTO event (sitting, seq, at_ns, kind, body) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING")
	if err != nil {
		return err
	}
	defer insert.Close()
	for _, e := range events {
		done, err := insert.Exec(id, e.Seq, int64(e.At), e.Kind, string(e.body))
		if err != nil {
			return err
		}
		if !added(done) {
			err = holdsEntry(tx, id, &e)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// holdsEntry looks whether the entry that is there is the same.
func holdsEntry(tx *sql.Tx, id int64, e *event) error {
	var body string
	err := tx.QueryRow("SELECT body FROM event WHERE sitting = ? AND seq = ?", id, e.Seq).Scan(&body)
	if err == nil && !same([]byte(body), e.body) {
		return fmt.Errorf("entry %d: %w", e.Seq, errContradicts)
	}
	return err
}
