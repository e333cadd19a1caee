package debrief

import (
	"cmp"
	"fmt"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// TookPart says, in a sentence, that the instructor changed something in a sitting; empty where they did not.
func TookPart(r *score.Result) string {
	if len(r.Instructed) == 0 {
		return ""
	}
	return fmt.Sprintf("The instructor took part (%s, listed below): it is judged by what was there.", Count(len(r.Instructed), "act"))
}

// weatherWords are the figures of the weather in words.
var weatherWords = map[string]string{
	"oat": "outside air temperature", "pressure_altitude": "pressure altitude", "tailwind": "tailwind", "humidity": "humidity",
}

// Did says what the instructor did, without when.
func (n Names) Did(x score.Instructed) string {
	what := cmp.Or(x.Title, x.What)
	switch x.Do {
	case "insert":
		when := ""
		switch {
		case x.Item != "":
			when = ", to come as " + n.Item(x.Item) + " is asked"
		case x.Phase != "":
			when = ", to come as " + n.Phase(x.Phase) + " begins"
		case x.WhenMS != nil:
			when = ", to come at " + Running(*x.WhenMS)
		}
		return "inserted: " + what + when
	case "delete":
		return "deleted before it came: " + what
	case "clear":
		if what == "" {
			return "removed what was in the aircraft"
		}
		return "removed from the aircraft: " + what
	case "freeze":
		if x.LengthMS == nil {
			return "held the sitting"
		}
		return fmt.Sprintf("held the sitting for %.0f s", *x.LengthMS/1000)
	case "back":
		text := "set back to " + n.Phase(x.What)
		if len(x.Again) > 0 {
			text += ", to be done again: " + n.List(x.Again)
		}
		return text
	case "say":
		return fmt.Sprintf("had it said: %q", x.What)
	}
	return n.changed(x)
}

// changed says what was changed around the aircraft, or of the sound.
func (n Names) changed(x score.Instructed) string {
	value := 0.0
	if x.Value != nil {
		value = *x.Value
	}
	switch x.Do {
	case "weather":
		_, _, unit, _ := aircraft.WeatherRange(x.What)
		name := cmp.Or(weatherWords[x.What], x.What)
		if x.What == "tailwind" && value < 0 {
			name, value = "headwind", -value
		}
		return strings.TrimRight(fmt.Sprintf("set the %s to %.4g %s", name, value, unit), " ")
	case "fuel":
		return fmt.Sprintf("set the fuel to %.4g kg", value)
	case "power":
		if x.What == "off" {
			return "had ground power unplugged"
		}
		return "had ground power plugged in"
	case "sound":
		return "turned the sound " + x.What
	case "level":
		return fmt.Sprintf("set the sound to %.4g dB of its level", value)
	}
	return strings.TrimSpace(x.Do + " " + x.What)
}

// Running is a running time, given in milliseconds, in minutes and seconds.
func Running(ms float64) string {
	tenths := int64(ms/100 + 0.5)
	return fmt.Sprintf("%d:%02d.%d", tenths/600, tenths/10%60, tenths%10)
}

// instructed lists what the instructor did, and then what they wrote down.
func (w *writer) instructed(h Head, r *score.Result) {
	if len(r.Instructed) > 0 {
		w.rule("What the instructor did")
		for _, x := range r.Instructed {
			w.hanging(fmt.Sprintf("  %8s  ", Running(x.AtMS)), h.Names.Did(x))
		}
	}
}

func (w *writer) remarks(r *score.Result) {
	if len(r.Remarks) > 0 {
		w.rule("Remarks of the instructor")
		for _, x := range r.Remarks {
			w.hanging(fmt.Sprintf("  %8s  ", Running(x.AtMS)), x.Text)
		}
	}
}

// acts is what the instructor did, in one line: for tables.
func (n Names) acts(r *score.Result) string {
	var all []string
	for _, x := range r.Instructed {
		all = append(all, Running(x.AtMS)+" "+n.Did(x))
	}
	return strings.Join(all, "; ")
}

// remarked is what the instructor wrote down, in one line.
func remarked(r *score.Result) string {
	var all []string
	for _, x := range r.Remarks {
		all = append(all, Running(x.AtMS)+" "+x.Text)
	}
	return strings.Join(all, "; ")
}

// refusals are why something could not be done, in words.
var refusals = map[logbook.Reason]string{
	logbook.NoSuch:     "there is nothing of that name here",
	logbook.NotBegun:   "that phase has not begun",
	logbook.NotWaiting: "nothing of that name waits, or is in the aircraft",
	logbook.OutOfRange: "that is out of range",
	logbook.Past:       "that moment has been",
	logbook.TooMany:    "a sitting takes no more of them",
	logbook.TooFast:    "that is too many at once; wait a moment",
	logbook.WhileHeld:  "the sitting is held; release it first",
	logbook.NotFitted:  "this aircraft has none",
	logbook.Already:    "it is so already",
}

// Refusal says why an instruction could not be done, from its entry in the log; empty if it was.
func Refusal(e *logbook.Entry) string {
	if e.Kind != logbook.Instruct || e.Why == "" {
		return ""
	}
	text := cmp.Or(refusals[e.Why], string(e.Why))
	if e.Truth != "" {
		text += "; possible: " + e.Truth
	}
	return text
}
