package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"hornlark/drill/record"
)

// seat is who sits here, as it is kept in the folder for settings.
type seat struct {
	Trainee string `json:"trainee"`
}

func newTrainee(s streams) *cobra.Command {
	var nobody bool
	c := &cobra.Command{
		Use:   "trainee [NAME | --nobody]",
		Short: "Say or change who sits here: whose records sittings belong to",
		Long: `Says who sits here. Sittings are kept under that name until another is given, here or by "hornlark drill --trainee NAME".
With NAME it is changed, with --nobody forgotten; what has been kept stays where it is. The name is in the folder for settings,
readable by you alone.`,
		Example: `  hornlark trainee
  hornlark trainee kim
  hornlark trainee --nobody`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			switch {
			case nobody && len(args) > 0:
				return usageError{errors.New("name a trainee, or add --nobody, not both")}
			case nobody:
				if err := remember(""); err != nil {
					return err
				}
			case len(args) > 0:
				if args[0] == "" {
					return usageError{errors.New("the name is empty; for nobody add --nobody")}
				}
				if err := record.CheckTrainee(args[0]); err != nil {
					return usageError{err}
				}
				if err := remember(args[0]); err != nil {
					return err
				}
			}
			name, err := remembered()
			switch {
			case err != nil:
				return err
			case name == "":
				fmt.Fprintln(s.out, "nobody is known to sit here; say who: hornlark trainee NAME")
			default:
				fmt.Fprintf(s.out, "%s sits here; another: hornlark trainee NAME, nobody: hornlark trainee --nobody\n", name)
			}
			return nil
		},
		ValidArgsFunction: completeTrainees,
	}
	c.Flags().BoolVar(&nobody, "nobody", false, "forget who sits here")
	return c
}

// seatPath is where it is kept who sits here.
func seatPath() (string, error) {
	path, err := settingsPath()
	return filepath.Join(filepath.Dir(path), "trainee.json"), err
}

// remembered gives the name of who sits here; empty if nobody is known to. That there is no place for settings is no error.
func remembered() (string, error) {
	path, err := seatPath()
	if err != nil {
		return "", nil
	}
	data, err := readSettings(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	var is seat
	if err == nil {
		dec := json.NewDecoder(bytes.NewReader(data))
		dec.DisallowUnknownFields()
		if err = dec.Decode(&is); err == nil {
			err = record.CheckTrainee(is.Trainee)
		}
	}
	if err != nil {
		return "", fmt.Errorf("%s: %w; who sits here is not known: mend it or remove it", path, err)
	}
	return is.Trainee, nil
}

// remember keeps who sits here, for the next time; with an empty name it forgets.
func remember(name string) error {
	path, err := seatPath()
	if err != nil {
		return err
	}
	if name == "" {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("who sits here cannot be forgotten: %w", err)
		}
		return nil
	}
	if err := saveSettings(path, seat{name}); err != nil {
		return fmt.Errorf("who sits here cannot be remembered: %w", err)
	}
	return nil
}

// takeSeat settles whose records a live sitting belongs to: the name that was given, which is remembered, or the remembered one, or the one that is
// given now, if there is a terminal to ask on. Whoever names a scenario is not asked: it begins at once. Answers that are played are nobody's, unless a
// name is given with them, and that is not remembered.
func (o *drillOptions) takeSeat(ask bool) error {
	switch {
	case o.virtual || o.nobody || o.seated:
		return nil
	case o.answers != "":
		return nil
	}
	is, err := remembered()
	if err != nil {
		fmt.Fprintln(o.err, err)
	}
	if o.trainee == "" {
		o.trainee = is
	}
	if ask && o.trainee == "" && o.terminal {
		if o.trainee, err = o.askWho(); err != nil {
			return err
		}
	}
	if o.seated = true; o.trainee != "" && o.trainee != is {
		if err := remember(o.trainee); err != nil {
			fmt.Fprintln(o.err, err)
		}
	}
	return nil
}

// askWho asks for a name, until it is one or empty.
func (o *drillOptions) askWho() (string, error) {
	for {
		fmt.Fprint(o.out, "Who sits here? Sittings are kept under that name. Name, or Enter for none: ")
		name, err := readAnswer(o.in)
		if err != nil && !errors.Is(err, io.EOF) {
			return "", err
		}
		wrong := record.CheckTrainee(name)
		if wrong == nil {
			return name, nil
		}
		fmt.Fprintln(o.out, wrong)
		if err != nil {
			return "", usageError{wrong}
		}
	}
}

// maxAnswer bounds what is typed for an answer, in bytes.
const maxAnswer = 1000

// readAnswer reads a line and no byte more: what is typed after it is for the screen. Blanks around it are taken away.
func readAnswer(in io.Reader) (string, error) {
	var line []byte
	for one := make([]byte, 1); len(line) < maxAnswer; {
		n, err := in.Read(one)
		if n == 1 && one[0] == '\n' {
			break
		}
		line = append(line, one[:n]...)
		if err != nil {
			return string(bytes.TrimSpace(line)), err
		}
	}
	return string(bytes.TrimSpace(line)), nil
}

// keptFor says for whom a sitting is kept, and how that is changed.
func (o *drillOptions) keptFor() string {
	date := ""
	if moved := recordsMoved(); moved != 0 {
		date = ", as of " + clockTime(recordsNow()) + asOf(moved)
	}
	switch {
	case o.trainee != "":
		return fmt.Sprintf("kept for %s%s; another: --trainee NAME, none: --nobody", o.trainee, date)
	case o.answers != "":
		return fmt.Sprintf("kept without a name%s, since answers are played; for somebody: --trainee NAME", date)
	}
	return fmt.Sprintf("kept without a name%s; for somebody: --trainee NAME", date)
}

// recordsThere reports whether there are records, or journals that would make some.
func recordsThere() bool {
	for _, name := range []string{"hornlark.db", "unsaved"} {
		name = filepath.Join(dataFolder(), name)
		if _, err := os.Stat(name); err == nil {
			return true
		}
	}
	return false
}
