package web_test

import (
	"testing"

	"hornlark/scripts/ownhome"
)

func TestMain(m *testing.M) { ownhome.Main(m) }
