package whole

import (
	"testing"

	"hornlark/scripts/ownhome"
)

// child is what a process does that a test has started, where there are such; it does not come back if it is one.
var child = func() {}

func TestMain(m *testing.M) {
	child()
	ownhome.Main(m)
}
