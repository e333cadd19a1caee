package main

import (
	"cmp"
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"hornlark/audio"
)

// version is set when a release is built: -ldflags "-X main.version=1.2".
var version = "development"

func newVersion(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say what this program is: version, source, system, and how it reaches the loudspeaker",
		Long: `Says which version this is, of which commit it was built and with what, and whether the library of the system that leads to the
loudspeaker was found: what helps most in a report of something that went wrong. No device is opened.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			fmt.Fprintf(s.out, "hornlark %s\n", version)
			build, ok := debug.ReadBuildInfo()
			if ok {
				fmt.Fprintf(s.out, "source   %s\n", source(build))
			}
			fmt.Fprintf(s.out, "built    with %s for %s/%s\n", runtime.Version(), runtime.GOOS, runtime.GOARCH)
			way, err := audio.Way()
			if err != nil {
				way = err.Error()
			}
			fmt.Fprintf(s.out, "sound    %s\n", way)
			return nil
		},
	}
}

// source tells of which commit a program was built, if it was built where that is known.
func source(build *debug.BuildInfo) string {
	set := map[string]string{}
	for _, s := range build.Settings {
		set[s.Key] = s.Value
	}
	if set["vcs.revision"] == "" {
		return "unknown: built outside of a repository"
	}
	text := fmt.Sprintf("commit %s of %s", set["vcs.revision"], cmp.Or(set["vcs.time"], "an unknown day"))
	if set["vcs.modified"] == "true" {
		text += ", with changes"
	}
	return text
}
