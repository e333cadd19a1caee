package draft

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

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
	w.comment("", "Procedures and abnormals of the %s are not its own: each says by profile whose it is. Everything about it has to be fictional.", tidy(like.Title))
	w.row("#")
	about := fmt.Sprintf("A fictional aircraft, made of the %s, which never existed either. Say here what it is for.", tidy(like.Title))
	text, err := withFields(text, [][2]string{{"name", o.Name}, {"title", clip(tidy(title))}, {"about", about}})
	if err != nil {
		return "", err
	}
	return w.String() + text, nil
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
