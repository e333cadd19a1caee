//go:build amd64 || arm64

package audio

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"unsafe"
)

// A library that the machine has not, or that is too old to have what is called, is no missing device: the message names what to install.
func TestALibraryThatIsNotThere(t *testing.T) {
	var table struct {
		There func() uintptr `c:"snd_asoundlib_version"`
		Not   func()         `c:"snd_of_another_century"`
	}
	ready := func() { t.Error("a library that lacks something is used") }
	for name, want := range map[string]string{
		"libasound.so.99": "this machine has no libasound.so.99; install it to hear anything",
		libasound:         "libasound.so.2 of this machine lacks snd_of_another_century; install a later one",
	} {
		err := loadLibrary(name, reflect.ValueOf(&table).Elem(), ready)
		if errors.Is(err, ErrNoDevice) || err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", name, err, want)
		}
	}
}

// A long of C, which ALSA counts frames in, is as long as an int: LP64, as the System V ABI for AMD64 (table 3.1) and the Procedure
// Call Standard for the Arm 64-bit Architecture (table 2) have it.
func TestALongIsAnInt(t *testing.T) {
	if unsafe.Sizeof(int(0)) != 8 || unsafe.Sizeof(handle(0)) != 8 {
		t.Fatal("an int is not as long as a long of C")
	}
}
