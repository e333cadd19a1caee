package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"hornlark/drill/logbook"
)

var (
	uidForm  = regexp.MustCompile(`^[A-Za-z0-9-]{8,64}$`)
	hashForm = regexp.MustCompile(`^[0-9a-f]{32}$`)
)

// The years in which a sitting of this program can have been, whatever a clock says that was never set.
var (
	earliest = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	latest   = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)
)

// undated are the beginnings that stand for none that can be told: the first and the last day on which a sitting can have been. A machine
// whose clock was never set begins long before, and one whose clock is wrong may be anywhere.
var undated = [2]time.Time{earliest, latest.AddDate(0, 0, -1)}

// Undated reports whether nobody knows when a sitting began, since the clock of its machine could not be right.
func Undated(started time.Time) bool { return started.Equal(undated[0]) || started.Equal(undated[1]) }

// believed is when a sitting began as far as a clock can be believed.
func believed(started time.Time) time.Time {
	switch {
	case started.Before(undated[0]):
		return undated[0]
	case started.After(undated[1]):
		return undated[1]
	}
	return started
}

// maxDelay is far above any time that sound can be asked for ahead.
const maxDelay = time.Minute

// update puts a sitting out of a file of an earlier version into the words of today.
func (c *copied) update(version int) (where string, err error) {
	if version > 1 {
		if c.Mode != "" {
			return ".mode", errors.New("it is called the policy in a file of this version")
		}
		return "", nil
	}
	if c.Policy != "" || c.LogVersion != 0 {
		return ".policy", errors.New("a file of version 1 has a mode in its place, and no versions of logs")
	}
	if c.Mode == "" {
		return ".mode", errors.New("it is missing")
	}
	c.Policy, c.Mode, c.LogVersion = c.Mode, "", 1
	return "", nil
}

// check says what is wrong with a sitting, and where in it.
func (c *copied) check(checks Checks) (where string, err error) {
	if err := CheckTrainee(c.Trainee); err != nil {
		return ".trainee", err
	}
	for _, text := range []struct {
		name, value string
		wanted      bool
	}{
		{"scenario", c.Scenario, true}, {"procedure", c.Procedure, true},
		{"profile", c.Profile, true}, {"policy", c.Policy, true}, {"version", c.Version, false}, {"layout", c.Layout, false},
	} {
		if text.wanted && text.value == "" {
			return "." + text.name, errors.New("it is missing")
		}
		if err := shown(text.value); err != nil {
			return "." + text.name, err
		}
	}
	if err := logbook.Known(c.LogVersion); err != nil {
		return ".log_version", err
	}
	_, seedErr := strconv.ParseUint(c.Seed, 10, 64)
	ended := c.State == Complete || c.State == Stopped
	switch {
	case !uidForm.MatchString(c.UID):
		return ".uid", fmt.Errorf("%q is not the uid of a sitting", c.UID)
	case !hashForm.MatchString(c.Plan):
		return ".plan", fmt.Errorf("%q is not the name of documents", c.Plan)
	case seedErr != nil:
		return ".seed", fmt.Errorf("%q is not a seed", c.Seed)
	case c.Started.Before(earliest) || !c.Started.Before(latest):
		return ".started", fmt.Errorf("%v is no time at which a sitting began; sittings are from %d to %d", c.Started, earliest.Year(), latest.Year()-1)
	case c.Moved.Abs() > latest.Sub(earliest):
		return ".moved_ns", errors.New("the clock of the records cannot have been moved so far")
	case min(c.Lead, c.Buffer, c.Latency) < 0 || max(c.Lead, c.Buffer, c.Latency) > maxDelay:
		return "", errors.New("how far sound is asked for ahead is below zero, or more than a minute")
	case !ended && c.State != Unended:
		return ".state", fmt.Errorf("%q is not a state; it is complete, stopped or unended", c.State)
	case ended && (c.Ended == nil || c.Ended.Before(c.Started) || !c.Ended.Before(latest)):
		return ".ended", errors.New("a sitting that has ended did so at a time, and not before it began")
	case ended && none(c.Result):
		return ".result", errors.New("a sitting that has ended has a result")
	case !ended && (c.Ended != nil || !none(c.Result)):
		return ".result", errors.New("a sitting that has not ended has no result")
	case len(c.Log) > maxEntries || len(c.Inputs) > maxEntries:
		return ".log", fmt.Errorf("no sitting has more than %d entries", maxEntries)
	}
	if ended {
		digest, err := checks.Digest(c.Result)
		if err != nil {
			return ".result", err
		}
		c.digest = digest.finite()
	}
	return c.checkLists(checks)
}

func none(body json.RawMessage) bool { return len(body) == 0 || string(body) == "null" }

func (c *copied) checkLists(checks Checks) (where string, err error) {
	var before time.Duration
	for i, in := range c.Inputs {
		where := fmt.Sprintf(".inputs[%d]", i)
		if in.At < before {
			return where, errors.New("it is earlier than the one before it")
		}
		if none(in.Event) {
			return where, errors.New("it has no event")
		}
		if err := exactNames(in.Event); err != nil {
			return where, err
		}
		if err := checks.Input(c.LogVersion, in.Event); err != nil {
			return where, err
		}
		before = in.At
	}
	return c.checkLog()
}

// checkLog takes the entries of the log, each as it was written.
func (c *copied) checkLog() (where string, err error) {
	var before time.Duration
	for i, body := range c.Log {
		where := fmt.Sprintf(".log[%d]", i)
		e, err := eventIn(compact(body))
		if err != nil {
			return where, err
		}
		members := membersOf(body)
		if err := smallNames(members); err != nil {
			return where, err
		}
		read, err := logbook.Convert(c.LogVersion, body)
		switch {
		case err != nil && !errors.Is(err, logbook.ErrLeftOut):
			return where, err
		case e.Seq != i+1:
			return where, fmt.Errorf("its seq is %d; %d is wanted, since a log has no gaps", e.Seq, i+1)
		case e.At < before:
			return where, errors.New("it is earlier than the one before it")
		}
		for _, member := range members {
			if err := shown(stringOf(member)); err != nil {
				return where, err
			}
		}
		before = e.At
		c.events = append(c.events, e)
		if err == nil {
			c.read = append(c.read, read)
		}
	}
	return "", nil
}

// exactly reads one JSON object into a struct whose names are all small: the decoder would take others for them.
func exactly(body json.RawMessage, v any) error {
	if err := exactNames(body); err != nil {
		return err
	}
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.DisallowUnknownFields()
	return dec.Decode(v)
}

func exactNames(body json.RawMessage) error { return smallNames(membersOf(body)) }

func smallNames(members map[string]json.RawMessage) error {
	for name := range members {
		if strings.ToLower(name) != name {
			return fmt.Errorf("unknown field %q", name)
		}
	}
	return nil
}
