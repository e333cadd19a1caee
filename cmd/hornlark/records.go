package main

import (
	"errors"
	"fmt"
	"strconv"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/record"
)

// openRecords opens the records for a command about them.
func openRecords(s streams) (*record.Store, error) {
	path, err := record.DefaultPath()
	if err != nil {
		return nil, fmt.Errorf("there is no place for the records: %w; set HORNLARK_DATA to a folder", err)
	}
	store, err := record.Open(path)
	if err != nil {
		return nil, err
	}
	store.Tell(func(notice string) { fmt.Fprintln(s.err, notice) })
	return store, nil
}

// errNoRecords is for a command that has nothing to work on.
var errNoRecords = errors.New("there are no sittings in the records yet; hornlark drill makes one")

// sittingOf finds the sitting that the arguments name by its number, or the latest one.
func sittingOf(store *record.Store, args []string) (record.Sitting, error) {
	filter := record.Filter{Limit: 1}
	if len(args) > 0 {
		id, err := strconv.ParseInt(args[0], 10, 64)
		if err != nil || id < 1 {
			return record.Sitting{}, usageError{fmt.Errorf("%q is not the number of a sitting; hornlark progress lists them", args[0])}
		}
		filter.ID = id
	}
	found, err := store.Sittings(filter)
	switch {
	case err != nil:
		return record.Sitting{}, err
	case len(found) == 1:
		return found[0], nil
	case filter.ID != 0:
		return record.Sitting{}, fmt.Errorf("there is no sitting %d; hornlark progress lists them", filter.ID)
	}
	return record.Sitting{}, errNoRecords
}

// keptSitting is a sitting out of the records that is told of and shown.
type keptSitting struct{ *desk.Kept }

// withKept opens the records, finds the sitting that the arguments name, or the latest one, and does something with it.
func withKept(s streams, args []string, do func(*keptSitting) error) error {
	store, err := openRecords(s)
	if err != nil {
		return err
	}
	defer store.Close()
	k, err := keptBy(store, args)
	if err != nil {
		return err
	}
	return do(k)
}

func keptBy(store *record.Store, args []string) (*keptSitting, error) {
	sitting, err := sittingOf(store, args)
	if err != nil {
		return nil, err
	}
	k, err := desk.Load(store, sitting)
	if err != nil {
		return nil, err
	}
	return &keptSitting{k}, nil
}

// clockTime gives an instant as the clock on the wall showed it, if that could be right.
func clockTime(t time.Time) string {
	if record.Undated(t) {
		return "date not known"
	}
	return t.Local().Format("2006-01-02 15:04")
}

// someone is a trainee's name, or what stands for none.
func someone(trainee string) string {
	if trainee == "" {
		return "(no name)"
	}
	return trainee
}
