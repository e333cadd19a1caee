package course

import (
	"os"
	"testing"

	"hornlark/scripts/ownhome"
)

func TestMain(m *testing.M) {
	if folder := os.Getenv(adderVariable); folder != "" {
		addForEver(folder)
	}
	ownhome.Main(m)
}
