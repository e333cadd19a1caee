package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/drill/fault"
	"hornlark/drill/inert"
	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

// question is what a draft is asked for on a terminal, in place of an option that was not given.
type question struct {
	flag      string // the option; empty is the argument
	ask       string
	kind      string // of what is chosen, as "profile"
	to        func(answer string)
	otherwise string // what Enter alone means; empty where it has to be said, unless it is free
	means     string // that in words, where it is no answer; then Enter alone is empty
	known     func() ([]string, error)
	several   bool // of them, with commas in between
	wrong     func(answer string) error
}

// mostOffered is how many names stand in a question; of more the first do, and ? lists all.
const mostOffered = 8

// converse asks for what the options did not say, if there is a terminal and something is missing without which nothing can be drafted.
// Then it asks for the rest as well, each with what Enter alone means. missing says whether anything is.
func (o *draftOptions) converse(c *cobra.Command, missing bool, questions []question) error {
	if !o.terminal || !missing {
		return nil
	}
	fmt.Fprintln(o.out, "What was not said is asked for; Enter alone takes what stands in brackets, and Ctrl-C leaves without having written anything.")
	for i := range questions {
		q := &questions[i]
		if q.flag != "" && c.Flags().Changed(q.flag) {
			continue
		}
		answer, err := o.askOne(q)
		if err != nil {
			return err
		}
		q.to(answer)
	}
	return nil
}

// askOne asks until the answer is one that can be.
func (o *draftOptions) askOne(q *question) (string, error) {
	var known []string
	if q.known != nil {
		var err error
		if known, err = q.known(); err != nil {
			return "", err
		}
	}
	for {
		fmt.Fprint(o.out, q.words(known))
		answer, err := readAnswer(o.in)
		if err != nil && !errors.Is(err, io.EOF) {
			return "", err
		}
		if answer == "?" && len(known) > 0 {
			fmt.Fprintln(o.out, strings.Join(known, ", "))
			continue
		}
		wrong := q.check(cmp.Or(answer, q.otherwise), known)
		if wrong == nil {
			return cmp.Or(answer, q.otherwise), nil
		}
		text := wrong.Error()
		if text = strings.ToUpper(text[:1]) + text[1:]; !strings.HasSuffix(text, "?") {
			text += "."
		}
		fmt.Fprintln(o.out, text)
		if err != nil {
			return "", usageError{errors.New("nobody answers; add the option, as " + q.example())}
		}
	}
}

func (q *question) example() string {
	if q.flag == "" {
		return "the name of the file"
	}
	return "--" + q.flag
}

// words are the question as it stands on the terminal.
func (q *question) words(known []string) string {
	text := q.ask
	switch {
	case len(known) > mostOffered:
		text += fmt.Sprintf(" %s or another of %d (? lists them)", strings.Join(known[:mostOffered], ", "), len(known))
	case len(known) > 0:
		text += " " + strings.Join(known, ", ")
	}
	if what := cmp.Or(q.otherwise, q.means); what != "" {
		text += " [" + what + "]"
	}
	if strings.HasSuffix(text, "?") {
		return text + " "
	}
	return text + ": "
}

// check says what is wrong with an answer.
func (q *question) check(answer string, known []string) error {
	if answer == "" {
		if q.means != "" {
			return nil
		}
		return errors.New("it has to be said")
	}
	answers := []string{answer}
	if q.several {
		answers = parted(answer)
	}
	for _, one := range answers {
		name, _, _ := strings.Cut(one, "@")
		if q.several && name != "" {
			one = name
		}
		if q.known != nil && !slices.Contains(known, one) {
			begin := slices.DeleteFunc(slices.Clone(known), func(k string) bool { return !strings.HasPrefix(k, one) })
			if len(begin) == 1 {
				return fmt.Errorf("there is no %s %q; did you mean %q?", q.kind, one, begin[0])
			}
			return fmt.Errorf("there is no %s %q; %s", q.kind, one, fault.Suggest(one, known))
		}
	}
	if q.wrong != nil {
		return q.wrong(answer)
	}
	return nil
}

// parted parts what stands with commas in between.
func parted(answer string) []string {
	return strings.FieldsFunc(answer, func(r rune) bool { return r == ',' || r == ' ' })
}

// whereTo asks for the file.
func (o *draftOptions) whereTo() question {
	return question{flag: "out", ask: "Write to which file?", means: "show it here", to: func(a string) { o.path = cmp.Or(a, "-") }, wrong: func(path string) error {
		if info, err := os.Stat(filepath.Dir(path)); err != nil || !info.IsDir() {
			return fmt.Errorf("there is no folder %s; make it first, or choose another", inert.Line(filepath.Dir(path)))
		}
		if _, err := os.Lstat(path); err == nil && !o.force {
			return fmt.Errorf("there is a %s already; choose another name, or begin again with --force", inert.Line(path))
		}
		return nil
	}}
}

// called asks for a short name.
func (o *draftOptions) called(otherwise string, taken func() []string) question {
	return question{flag: "name", ask: "What is it called, in a short name?", means: otherwise, to: func(a string) { o.name = a }, wrong: func(name string) error {
		var faults fault.List
		if faults.Name("", name); len(faults) > 0 {
			return fmt.Errorf("%s; %s", faults[0].Problem, faults[0].Remedy)
		}
		if taken != nil && slices.Contains(taken(), name) {
			return fmt.Errorf("there is a %s already; give it a name of its own", name)
		}
		return nil
	}}
}

// namesOf gives the names of the documents of a kind.
func (o *draftOptions) namesOf(kind library.Kind) func() ([]string, error) {
	return func() ([]string, error) {
		lib, err := openLibrary(o.own)
		if err != nil {
			return nil, err
		}
		if kind == library.Procedure {
			return procedureNames(lib), nil
		}
		return profileNames(lib), nil
	}
}

// failurePoints are those of the aircraft.
func (o *draftOptions) failurePoints() ([]string, error) {
	prof, err := o.aircraft("which aircraft does it befall?")
	if err != nil {
		return nil, err
	}
	var points []string
	for _, p := range prof.FailurePoints() {
		points = append(points, p.Name)
	}
	return points, nil
}

// abnormalsFor are those that a procedure can be interrupted by.
func (o *draftOptions) abnormalsFor(procedure string) ([]string, error) {
	lib, err := openLibrary(o.own)
	if err != nil {
		return nil, err
	}
	proc, err := lib.Procedure(procedure)
	if err != nil {
		return nil, usageError{err}
	}
	profile := cmp.Or(o.profile, proc.Profile)
	view, _ := lib.For(profile)
	return abnormalsOf(view, profile), nil
}

// itemsAre says what is wrong with items at which something goes wrong.
func (o *draftOptions) itemsAre(procedure, answer string) error {
	lib, err := openLibrary(o.own)
	if err != nil {
		return err
	}
	proc, err := lib.Procedure(procedure)
	if err != nil {
		return err
	}
	items := itemsOf(proc)
	for _, one := range parted(answer) {
		if _, item, during := strings.Cut(one, "@"); during && !slices.Contains(items, item) {
			return fmt.Errorf("there is no item %q; %s", item, fault.Suggest(item, items))
		}
	}
	return nil
}

func policyNames() ([]string, error) { return scenario.PolicyNames(), nil }

// isFile says what is wrong with the path of a checklist.
func isFile(path string) error {
	if info, err := os.Stat(path); err != nil || !info.Mode().IsRegular() {
		return fmt.Errorf("there is no file %s", inert.Line(path))
	}
	return nil
}

// yesOrNo are the answers to whether something is so.
func yesOrNo() ([]string, error) { return []string{"yes", "no"}, nil }
