package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/web"
)

func newStation(s streams) *cobra.Command {
	listen := web.Loopback
	c := &cobra.Command{
		Use:   "station [ADDRESS...]",
		Short: "One page for the instructor's stations of several sittings",
		Long: `Opens one page on which the stations of several sittings stand side by side. Each sitting is started with
"hornlark drill --station", wherever its trainee sits; an ADDRESS is what its terminal shows, with # and the code
behind it or without. A code that is missing is entered on the page, and more sittings can be added there.

The page is one of this machine unless --listen says otherwise. Ctrl-C ends it; the sittings go on.`,
		Example: `  hornlark station 192.168.1.11:4700 192.168.1.12:4700
  hornlark station http://127.0.0.1:4701/#K7QF3M2X`,
		Args:              cobra.MaximumNArgs(web.MostPlaces),
		ValidArgsFunction: cobra.NoFileCompletions,
		RunE: func(c *cobra.Command, args []string) error {
			return stationRun(c.Context(), s, listen, args)
		},
	}
	c.Flags().StringVar(&listen, "listen", listen, "where the page listens, as :0 or :4600")
	must(c.RegisterFlagCompletionFunc("listen", cobra.NoFileCompletions))
	return c
}

// stationRun serves the page of a class until it is stopped.
func stationRun(ctx context.Context, s streams, listen string, places []string) error {
	if err := web.CheckAddress(listen); err != nil {
		return usageError{fmt.Errorf("--listen: %w", err)}
	}
	for _, place := range places {
		if _, _, err := web.ParsePlace(place); err != nil {
			return usageError{err}
		}
	}
	class, err := web.OpenClass(ctx, listen)
	if err != nil {
		return fmt.Errorf("--listen: %w", err)
	}
	defer class.Close("the class has been closed; the sittings go on")
	for _, place := range places {
		if err := class.Add(place, ""); err != nil {
			return err
		}
	}
	for _, link := range class.Door().Links() {
		fmt.Fprintf(s.err, "The stations of the class: %s\n", link)
	}
	if warning := class.Door().Warning(); warning != "" {
		fmt.Fprintln(s.err, warning)
	}
	fmt.Fprintln(s.err, "Open it in a browser; the address lets in one, once. Ctrl-C ends it, and the sittings go on.")
	<-ctx.Done()
	return ctx.Err()
}
