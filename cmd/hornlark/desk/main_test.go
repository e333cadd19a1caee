package desk

import (
	"testing"

	"hornlark/scripts/ownhome"
)

func TestMain(m *testing.M) { ownhome.Main(m) }
