package draft

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"
	"time"

	"gopkg.in/yaml.v3"

	"hornlark/drill/aircraft"
)

// Profile makes a profile to begin with of the text of another one: its own name, title and paragraph, and all the rest, comments
// included, as it stands. The name has to be given. The error says that the text is not written a field to a row.
func Profile(text string, like *aircraft.Profile, o Options) (string, error) {
	title := o.Title
	if title == "" {
		title = capital(strings.ReplaceAll(o.Name, "-", " "))
	}
	w := &writer{}
	w.comment("", "A profile to begin with, made of that of the %s. Change what is to be another: first names and keys of controls, then gauges and captions, "+
		"then the figures under systems; \"hornlark check\" says what does not fit, and whether it still does what stands under expected.", tidy(like.Title))
	w.comment("", "What was written for the %s, procedures and abnormals too, is offered for this one as well, as far as it makes sense: that is what like says. "+
		"\"hornlark check\" says what is and what is not. Everything about it has to be fictional.", tidy(like.Title))
	w.row("#")
	about := fmt.Sprintf("A fictional aircraft, made of the %s, which never existed either. Say here what it is for.", tidy(like.Title))
	text, err := withFields(text, [][2]string{{"name", o.Name}, {"title", clip(tidy(title))}, {"about", about}})
	if err != nil {
		return "", err
	}
	if like.BasedOn != "" {
		return w.String() + text, nil // laid over the same one
	}
	at := strings.Index(text, "\nname: ") + 1
	if !strings.HasPrefix(text, "name: ") && at == 0 {
		return "", errors.New("it is not written with a field to a row")
	}
	end := at + strings.IndexByte(text[at:], '\n') + 1
	text = likeRow.ReplaceAllString(text[:end]+"like: "+scalar(like.Name)+"\n"+text[end:], "${1}")
	return w.String() + text, nil
}

// likeRow is a second row that says of what a profile was made.
var likeRow = regexp.MustCompile(`(?m)(^like: .*\n(?:.*\n)*?)^like: .*\n`)

// Overlay writes a profile that is laid over another one: what differs, to begin with the fuel on board alone, and in comments that are
// right as they are what else may be said.
func Overlay(under *aircraft.Profile, o Options) string {
	title := clip(tidy(cmp.Or(o.Title, capital(strings.ReplaceAll(o.Name, "-", " ")))))
	w := &writer{}
	w.comment("", "Laid over the %s: only what differs stands here, and all the rest is taken over from there. Groups are laid over each other field by field, "+
		"lists of things by their ids; a list without ids, as positions or bands, takes the place of the other. \"hornlark check\" says what does not fit, and what "+
		"of the procedures, scenarios and abnormals of the %s works on it. Everything about it has to be fictional.", tidy(under.Title), tidy(under.Title))
	w.row("name: %s", scalar(o.Name))
	w.row("title: %s", scalar(title))
	w.row("about: %s", scalar(fmt.Sprintf("A fictional aircraft, laid over the %s, which never existed either. Say here what it is for.", tidy(under.Title))))
	w.row("based_on: %s", scalar(under.Name))
	tank, field, kg := "main", "main_kg", under.Systems.Fuel.MainKg
	if kg == 0 {
		tank, field, kg = "supply", "supply_kg", under.Systems.Fuel.SupplyKg
	}
	w.comment("", "Something has to differ. To begin with it is the fuel on board: kg in the %s tank, where %s has %s.", tank, under.Name, digits(kg))
	w.row("systems: {fuel: {%s: %s}}", field, digits(math.Round(9*kg)/10))
	w.row("#")
	w.comment("", "What begins with # and a field may be taken: without the sign it counts.")
	w.row("# by: Who made it and answers for its figures")
	if len(under.Controls) > 0 {
		c := &under.Controls[0]
		w.row("# controls: [{id: %s, name: %s}]   # or key, positions, locked; a new one needs key too", c.ID, flow(clipTo(c.Name+" NO 1", 12)))
	}
	if len(under.Gauges) > 0 {
		g := &under.Gauges[0]
		w.row("# gauges: [{id: %s, tolerance: %s}]   # or name, bands, armed", g.ID, digits(2*g.Tolerance))
	}
	if len(under.Captions) > 0 {
		c := &under.Captions[len(under.Captions)-1]
		w.row("# captions: [{id: %s, after: %v}]   # or text, level, when", c.ID, c.After+time.Second)
	}
	if len(under.Outside) > 0 {
		f := &under.Outside[0]
		w.row("# outside: [{id: %s, true: %s}]", f.ID, flow(clip("here: "+f.True)))
	}
	leaves := []string{}
	if len(under.Inspections) > 0 {
		leaves = append(leaves, "inspections."+under.Inspections[len(under.Inspections)-1].ID)
	}
	if under.Expected != nil {
		leaves = append(leaves, "expected")
	}
	if len(leaves) > 0 {
		w.row("# leave_out: [%s]   # or as captions.NAME, controls.NAME, systems.horizon", strings.Join(leaves, ", "))
	}
	return w.String()
}

// clipTo is a label within so many characters.
func clipTo(text string, most int) string {
	if runes := []rune(text); len(runes) > most {
		text = string(runes[:most])
	}
	return strings.TrimSpace(text)
}

// withFields gives fields of a document other values, and leaves everything else in it as it is.
func withFields(text string, fields [][2]string) (string, error) {
	for _, f := range fields {
		at := regexp.MustCompile(`(?m)^` + f[0] + `:.*\n(?:[ \t]+\S.*\n)*`).FindStringIndex(text)
		if at == nil {
			return "", errors.New("it is not written with a field to a row")
		}
		text = text[:at[0]] + f[0] + ": " + scalar(f[1]) + "\n" + text[at[1]:]
	}
	got := map[string]any{}
	if err := yaml.Unmarshal([]byte(text), &got); err != nil {
		return "", errors.New("it is not written with a field to a row")
	}
	for _, f := range fields {
		if got[f[0]] != f[1] {
			return "", fmt.Errorf("its %s is not written in a row of its own", f[0])
		}
	}
	return text, nil
}
