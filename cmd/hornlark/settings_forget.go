package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"hornlark/audio/whole"
)

// settingsOf gives the files among the settings that have the name of a trainee in them, whether they can be read as what they are or not:
// who sits here, what trainees practise towards, and what was left of writing them.
func settingsOf(trainee string) (files []string) {
	seat, err := seatPath()
	if err != nil || trainee == "" {
		return nil
	}
	aims, _ := aimsPath()
	for _, name := range append([]string{seat, aims}, whole.Left(filepath.Dir(seat))...) {
		if holds(name, trainee) {
			files = append(files, name)
		}
	}
	return files
}

// holds reports whether a file has a name in it: as one of its values where it is JSON, else anywhere.
func holds(path, trainee string) bool {
	body, err := readSettings(path)
	if err != nil && len(body) == 0 {
		return false
	}
	var whole any
	if json.Unmarshal(body, &whole) == nil {
		return has(whole, trainee)
	}
	quoted, _ := json.Marshal(trainee)
	return bytes.Contains(body, []byte(trainee)) || bytes.Contains(body, bytes.Trim(quoted, `"`))
}

// has reports whether a text is among the values of some JSON.
func has(in any, text string) bool {
	switch in := in.(type) {
	case string:
		return in == text
	case []any:
		return slices.ContainsFunc(in, func(v any) bool { return has(v, text) })
	case map[string]any:
		for _, v := range in {
			if has(v, text) {
				return true
			}
		}
	}
	return false
}

// forgetSettings takes the name of a trainee out of the settings. A file that cannot be read as what it is and has the name goes as a whole.
func forgetSettings(trainee string) (err error) {
	for _, name := range settingsOf(trainee) {
		var e error
		switch path, _ := aimsPath(); name {
		case path:
			if _, e = loadAims(); e == nil {
				e = keepAim(aim{Trainee: trainee})
				break
			}
			fallthrough
		default:
			e = os.Remove(name)
		}
		if e != nil && !errors.Is(e, fs.ErrNotExist) {
			err = errors.Join(err, fmt.Errorf("the name is still in %s: %w", name, e))
		}
	}
	return err
}
