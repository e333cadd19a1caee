package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"hornlark/drill/record"
)

// aim is what a trainee practises towards, as it is kept in the folder for settings.
type aim struct {
	Trainee string   `json:"trainee"`
	By      string   `json:"by,omitempty"`      // the day, like 2027-03-12; empty: none
	Minutes int      `json:"minutes,omitempty"` // a day; 0: not settled
	Rest    []string `json:"rest,omitempty"`    // days of the week without practice
}

// tonightMinutes is how long an evening is where nothing is given or kept.
const tonightMinutes = 15

// evening is how many minutes an evening has.
func (a *aim) evening() int { return min(cmp.Or(a.Minutes, tonightMinutes), mostMinutes) }

// aims are those of all trainees, the latest that was settled first.
type aims struct {
	Aims []aim `json:"aims"`
}

// mostAims is how many are kept: as many as a settings file has room for with the longest names.
const mostAims = 1000

// aimsPath is where it is kept what trainees practise towards.
func aimsPath() (string, error) {
	path, err := settingsPath()
	return filepath.Join(filepath.Dir(path), "aims.json"), err
}

// loadAims reads them. That there are none, or no place for settings, is no error.
func loadAims() (aims, error) {
	path, err := aimsPath()
	if err != nil {
		return aims{}, nil
	}
	data, err := readSettings(path)
	if errors.Is(err, fs.ErrNotExist) {
		return aims{}, nil
	}
	var all aims
	if err == nil {
		dec := json.NewDecoder(bytes.NewReader(data))
		dec.DisallowUnknownFields()
		if err = dec.Decode(&all); err == nil {
			err = all.check()
		}
	}
	if err != nil {
		return aims{}, fmt.Errorf("%s: %w; until which day is practised is not known: mend it or remove it", path, err)
	}
	return all, nil
}

func (all *aims) check() error {
	for i := range all.Aims {
		a := &all.Aims[i]
		if err := record.CheckTrainee(a.Trainee); err != nil {
			return err
		}
		if _, err := time.Parse(time.DateOnly, a.By); a.By != "" && err != nil {
			return fmt.Errorf("%q is no day", a.By)
		}
		if a.Minutes < 0 || a.Minutes > mostPlanned {
			return fmt.Errorf("%d minutes a day are not from 1 to %d", a.Minutes, mostPlanned)
		}
		for _, day := range a.Rest {
			if !slices.Contains(weekdays[:], day) {
				return fmt.Errorf("%q is no day of the week", day)
			}
		}
	}
	return nil
}

// aimOf is what a trainee practises towards; without a name it is nothing.
func aimOf(trainee string) (aim, error) {
	all, err := loadAims()
	if i := all.of(trainee); i >= 0 {
		return all.Aims[i], err
	}
	return aim{Trainee: trainee}, err
}

func (all *aims) of(trainee string) int {
	return slices.IndexFunc(all.Aims, func(a aim) bool { return trainee != "" && a.Trainee == trainee })
}

// keepAim keeps what a trainee practises towards, for the next time; one that says nothing is taken away. Nobody's is not kept.
func keepAim(a aim) error {
	if a.Trainee == "" {
		return nil
	}
	all, err := loadAims()
	if err != nil {
		return err
	}
	i := all.of(a.Trainee)
	if i >= 0 {
		all.Aims = slices.Delete(all.Aims, i, i+1)
	}
	if a.By != "" || a.Minutes != 0 {
		all.Aims = slices.Insert(all.Aims, 0, a)
		all.Aims = all.Aims[:min(len(all.Aims), mostAims)]
	} else if i < 0 {
		return nil
	}
	return all.save()
}

func (all *aims) save() error {
	path, err := aimsPath()
	if err == nil && len(all.Aims) == 0 {
		err = os.Remove(path)
	} else if err == nil {
		err = saveSettings(path, all)
	}
	if err != nil {
		return fmt.Errorf("until which day is practised cannot be remembered: %w", err)
	}
	return nil
}
