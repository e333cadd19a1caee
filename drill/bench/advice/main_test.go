package advice

import (
	"flag"
	"os"
	"testing"

	"hornlark/scripts/ownhome"
)

// tries is on how many changed documents each property is tried, unless -rapid.checks says otherwise. Each of some is two sittings.
const tries = "15"

func TestMain(m *testing.M) {
	flag.Parse()
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == "rapid.checks" })
	if !given {
		if err := flag.Set("rapid.checks", tries); err != nil {
			os.Exit(2)
		}
	}
	ownhome.Main(m)
}
