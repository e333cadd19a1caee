package main

import (
	"fmt"
	"os"
	"strings"
	"time"
)

// clockVariable moves the clock of the records, for trying days to come.
const clockVariable = "HORNLARK_NOW"

// runBegan is when this run of the program began: a moment that clockVariable names is that one.
var runBegan = time.Now()

// wallClock is what the clock of the machine says at a moment. Tests set it otherwise.
var wallClock = func(at time.Time) time.Time { return at }

// recordsNow is the time of the records: whatever asks what day it is, or when a sitting began, asks here. What is only measured, from one
// moment to another, is measured with the clock of the machine, which nothing moves.
func recordsNow() time.Time { return recordsTime(time.Now()) }

// recordsTime is the time of the records at a moment by the clock of the machine.
func recordsTime(at time.Time) time.Time { return wallClock(at).Add(recordsMoved()) }

// recordsMoved is by how much the clock of the records is moved.
func recordsMoved() time.Duration {
	by, err := movedBy(os.Getenv(clockVariable), runBegan)
	if err != nil {
		return 0 // no command begins then
	}
	return by
}

// movedBy gives by how much the value of clockVariable moves a clock that stood at began when the run began.
func movedBy(value string, began time.Time) (by time.Duration, err error) {
	if value == "" {
		return 0, nil
	}
	if strings.HasPrefix(value, "+") || strings.HasPrefix(value, "-") {
		by, err = time.ParseDuration(value)
	} else {
		var at time.Time
		at, err = time.Parse(time.RFC3339, value)
		by = at.Sub(began.Round(0))
	}
	if err != nil {
		return 0, usageError{fmt.Errorf("%s is %q, which is no time; write one like 2027-03-12T19:00:00+01:00, or by how much the clock is to be moved, like +72h, or take it away", clockVariable, value)}
	}
	if at := began.Add(by).UTC(); at.Year() < 2001 || at.Year() > 2098 {
		return 0, usageError{fmt.Errorf("%s is %q, which leads to the year %d; sittings are from 2001 to 2098", clockVariable, value, at.Year())}
	}
	return by, nil
}

// asOf says that a date was set, after that date; empty if it was not.
func asOf(moved time.Duration) string {
	if moved == 0 {
		return ""
	}
	sign, by := "+", moved
	if by < 0 {
		sign, by = "-", -by
	}
	by = by.Round(time.Minute)
	return fmt.Sprintf(" (date set: the clock was moved by %s%d h %02d min)", sign, int(by.Hours()), int(by.Minutes())%60)
}
