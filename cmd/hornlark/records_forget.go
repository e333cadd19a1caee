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
	var yes bool
	c := &cobra.Command{
		Use:   "forget TRAINEE",
		Short: "Delete everything that is kept about a trainee, for good",
		Long: `Deletes every sitting of a trainee with its keys, its log and its result, and the name. Afterwards nothing of it is left
in the files of the records. It cannot be undone. No sitting of the trainee may be running.

On a terminal it says what will go and asks first; elsewhere it needs --yes. Files that were exported, sounds that were
written, and records at other desks are not touched.`,
		Example: `  hornlark forget kim
  hornlark forget "Trainee A" --yes`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return forgetRun(s, args[0], yes) },
	}
	c.Flags().BoolVar(&yes, "yes", false, "do not ask")
	return c
}

func forgetRun(s streams, trainee string, yes bool) error {
	if trainee == "" {
		return usageError{errors.New("name a trainee")}
	}
	store, err := openRecords(s)
	if err != nil {
		return err
	}
	defer store.Close()
	sittings, err := store.Summaries(record.Filter{Trainee: trainee})
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s: %s with all keys, logs and results, and the name, in %s\n", trainee, debrief.Count(len(sittings), "sitting"), store.Path())
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
	for _, name := range gone.Files {
		fmt.Fprintf(s.out, "deleted %s\n", name)
	}
	for _, name := range gone.Left {
		fmt.Fprintf(s.out, "not touched: %s, damaged records that may still have the name; delete the file yourself\n", name)
	}
	if err != nil {
		return err
	}
	if gone.Sittings == 0 && len(gone.Files) == 0 {
		return unknownTrainee(store, trainee)
	}
	fmt.Fprintf(s.out, "deleted: %s\n", debrief.Count(gone.Sittings, "sitting"))
	return nil
}
