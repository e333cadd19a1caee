package main

import (
	"bufio"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/drill/debrief"
	"hornlark/drill/record"
)

func newForget(s streams) *cobra.Command {
	var yes, nameless bool
	c := &cobra.Command{
		Use:   "forget TRAINEE | --nameless",
		Short: "Delete everything that is kept about a trainee, for good",
		Long: `Deletes every sitting of a trainee with its keys, its log, its result and what is known by it, the day until which they practise, and the
name, also as that of who sits here; with --nameless, every sitting without a name. Leftovers of theirs go too: journals of sittings that could not be stored, and damaged records in which the name is
found, of which everything that could be read has been taken over before. Afterwards nothing of it is left in the files of the
records. It cannot be undone. No sitting of the trainee may be running.

On a terminal it says what will go and asks first; elsewhere it needs --yes. Files that were exported, sounds that were
written, and records at other desks are not touched.`,
		Example: `  hornlark forget kim
  hornlark forget "Trainee A" --yes
  hornlark forget --nameless`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeTrainees,
		RunE: func(_ *cobra.Command, args []string) error {
			switch {
			case nameless && len(args) > 0:
				return usageError{errors.New("name a trainee, or add --nameless, not both")}
			case nameless:
				return forgetRun(s, "", yes)
			case len(args) == 0 || args[0] == "":
				return usageError{errors.New("name a trainee, or add --nameless for the sittings without a name")}
			}
			return forgetRun(s, args[0], yes)
		},
	}
	c.Flags().BoolVar(&yes, "yes", false, "do not ask")
	c.Flags().BoolVar(&nameless, "nameless", false, "the sittings without a name")
	return c
}

func forgetRun(s streams, trainee string, yes bool) error {
	store, err := openRecords(s)
	if err != nil {
		return err
	}
	defer store.Close()
	sittings, err := sittingsOf(store, trainee)
	if err != nil {
		return err
	}
	files, left := store.Leftovers(trainee)
	settings := settingsOf(trainee)
	fmt.Fprintf(s.out, "%s: %s with all keys, logs and results, and the name, in %s\n", someone(trainee), debrief.Count(sittings, "sitting"), store.Path())
	for _, name := range files {
		fmt.Fprintf(s.out, "and what is left in %s\n", name)
	}
	for _, name := range settings {
		fmt.Fprintf(s.out, "and the name, with what is settled for it, in %s\n", name)
	}
	if !yes {
		if !s.terminal {
			return usageError{errors.New("nothing was deleted; add --yes to delete it")}
		}
		fmt.Fprint(s.out, "Delete it for good? Type yes and Enter: ")
		answer, _ := bufio.NewReader(s.in).ReadString('\n')
		if strings.TrimSpace(answer) != "yes" {
			return errors.New("nothing was deleted")
		}
	}
	gone, err := store.Forget(trainee)
	err = errors.Join(err, forgetSettings(trainee))
	for _, name := range gone.Files {
		fmt.Fprintf(s.out, "deleted %s\n", name)
	}
	for _, name := range left {
		fmt.Fprintf(s.out, "not touched: %s, damaged records in which the name is not found; if they may have it all the same, delete the file yourself\n", name)
	}
	if err != nil {
		return err
	}
	if gone.Sittings == 0 && len(gone.Files) == 0 && len(settings) == 0 {
		if trainee == "" {
			return errors.New("every sitting in the records has a name")
		}
		return unknownTrainee(store, trainee)
	}
	fmt.Fprintf(s.out, "deleted: %s\n", debrief.Count(gone.Sittings, "sitting"))
	return nil
}

// sittingsOf counts the sittings of a trainee, or those without a name.
func sittingsOf(store *record.Store, trainee string) (n int, err error) {
	all, err := store.Summaries(record.Filter{Trainee: trainee})
	for i := range all {
		if all[i].Trainee == trainee {
			n++
		}
	}
	return n, err
}
