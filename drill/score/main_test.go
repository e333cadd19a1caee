package score

import (
	"flag"
	"testing"

	"hornlark/scripts/ownhome"
)

// tries is how many random logs a property is tried on, unless -rapid.checks says otherwise.
const tries = "10000"

func TestMain(m *testing.M) {
	flag.Parse()
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == "rapid.checks" })
	if !given && !testing.Short() {
		if err := flag.Set("rapid.checks", tries); err != nil {
			panic(err)
		}
	}
	ownhome.Main(m)
}
