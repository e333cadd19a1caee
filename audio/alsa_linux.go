//go:build amd64 || arm64

package audio

import (
	"errors"
	"fmt"
	"reflect"
	"sync"
	"unsafe"

	"github.com/ebitengine/purego"
)

// libasound is what the machine calls ALSA's library. The number is that of its binary interface, which has been 2 since 2001.
const libasound = "libasound.so.2"

// Constants of ALSA's header pcm.h and errors of its library.
const (
	alsaPlayback    = 0 // SND_PCM_STREAM_PLAYBACK
	alsaNonblock    = 1 // SND_PCM_NONBLOCK
	alsaInterleaved = 3 // SND_PCM_ACCESS_RW_INTERLEAVED
	alsaS16         = 2 // SND_PCM_FORMAT_S16_LE, the processor's own order on all that this is built for
)

// handle points to something of ALSA's: a device, or a set of parameters.
type handle uintptr

// alsa is ALSA's library, loaded when it is first needed: the program is built without its headers and starts without it. A long of
// C is an int here, since the platforms that this is built for have both of 64 bits. The tag is the function's name; failures are
// negative, as in C.
var alsa struct {
	SetErrorHandler func(uintptr) int32                                                `c:"snd_lib_error_set_handler"`
	Strerror        func(int32) string                                                 `c:"snd_strerror"`
	Open            func(pcm *handle, name string, stream, mode int32) int32           `c:"snd_pcm_open"`
	Close           func(handle) int32                                                 `c:"snd_pcm_close"`
	Drop            func(handle) int32                                                 `c:"snd_pcm_drop"`
	Prepare         func(handle) int32                                                 `c:"snd_pcm_prepare"`
	Recover         func(pcm handle, err, silent int32) int32                          `c:"snd_pcm_recover"`
	Wait            func(pcm handle, milliseconds int32) int32                         `c:"snd_pcm_wait"`
	AvailDelay      func(pcm handle, avail, delay *int) int32                          `c:"snd_pcm_avail_delay"`
	Write           func(pcm handle, samples unsafe.Pointer, frames int) int           `c:"snd_pcm_writei"`
	InfoMake        func(*handle) int32                                                `c:"snd_pcm_info_malloc"`
	InfoFree        func(handle)                                                       `c:"snd_pcm_info_free"`
	Info            func(pcm, info handle) int32                                       `c:"snd_pcm_info"`
	InfoName        func(handle) string                                                `c:"snd_pcm_info_get_name"`
	HWMake          func(*handle) int32                                                `c:"snd_pcm_hw_params_malloc"`
	HWFree          func(handle)                                                       `c:"snd_pcm_hw_params_free"`
	HWAny           func(pcm, hw handle) int32                                         `c:"snd_pcm_hw_params_any"`
	HWResample      func(pcm, hw handle, yes uint32) int32                             `c:"snd_pcm_hw_params_set_rate_resample"`
	HWAccess        func(pcm, hw handle, access int32) int32                           `c:"snd_pcm_hw_params_set_access"`
	HWFormat        func(pcm, hw handle, format int32) int32                           `c:"snd_pcm_hw_params_set_format"`
	HWChannels      func(pcm, hw handle, channels uint32) int32                        `c:"snd_pcm_hw_params_set_channels"`
	HWRate          func(pcm, hw handle, rate uint32, direction int32) int32           `c:"snd_pcm_hw_params_set_rate"`
	HWBufferNear    func(pcm, hw handle, frames *uint) int32                           `c:"snd_pcm_hw_params_set_buffer_size_near"`
	HWPeriodNear    func(pcm, hw handle, frames *uint, direction unsafe.Pointer) int32 `c:"snd_pcm_hw_params_set_period_size_near"`
	HWSet           func(pcm, hw handle) int32                                         `c:"snd_pcm_hw_params"`
	HWBuffer        func(hw handle, frames *uint) int32                                `c:"snd_pcm_hw_params_get_buffer_size"`
	HWPeriod        func(hw handle, frames *uint, direction unsafe.Pointer) int32      `c:"snd_pcm_hw_params_get_period_size"`
	SWMake          func(*handle) int32                                                `c:"snd_pcm_sw_params_malloc"`
	SWFree          func(handle)                                                       `c:"snd_pcm_sw_params_free"`
	SWCurrent       func(pcm, sw handle) int32                                         `c:"snd_pcm_sw_params_current"`
	SWStart         func(pcm, sw handle, frames uint) int32                            `c:"snd_pcm_sw_params_set_start_threshold"`
	SWAvailMin      func(pcm, sw handle, frames uint) int32                            `c:"snd_pcm_sw_params_set_avail_min"`
	SWSet           func(pcm, sw handle) int32                                         `c:"snd_pcm_sw_params"`
}

// loadALSA loads the library, once; an error says what to install, and is none of a machine without a device.
var loadALSA = sync.OnceValue(func() error { return loadLibrary(libasound, reflect.ValueOf(&alsa).Elem(), hushALSA) })

// loadLibrary loads a library and fills the fields of table with its functions; then it calls ready.
func loadLibrary(name string, table reflect.Value, ready func()) error {
	lib, err := purego.Dlopen(name, purego.RTLD_NOW|purego.RTLD_GLOBAL)
	if err != nil {
		return fmt.Errorf("this machine has no %s; install it to hear anything (Debian: libasound2; Fedora: alsa-lib)", name)
	}
	for i := range table.NumField() {
		symbol := table.Type().Field(i).Tag.Get("c")
		address, err := purego.Dlsym(lib, symbol)
		if err != nil {
			return fmt.Errorf("%s of this machine lacks %s; install a later one", name, symbol)
		}
		purego.RegisterFunc(table.Field(i).Addr().Interface(), address)
	}
	ready()
	return nil
}

// hushALSA keeps ALSA and its plugins from explaining every failure on standard error, in the middle of a screen. What matters
// comes back as an error number anyway. The handler has more arguments in C, as many as printf; who calls it removes them again.
func hushALSA() {
	alsa.SetErrorHandler(purego.NewCallback(func(file uintptr, line int32, function uintptr, err int32, format uintptr) {}))
}

func alsaError(rc int32) error { return errors.New(alsa.Strerror(rc)) }

// setStep is what a device was asked for last when its setting up failed.
type setStep int

const (
	setForm setStep = iota
	setRate
	setBuffer
)

// setUp asks for 16-bit frames of two channels at exactly Rate, in a buffer of about buffer frames, and gives what was granted.
func setUp(pcm handle, buffer uint) (granted, period uint, step setStep, rc int32) {
	var hw, sw handle
	if rc = alsa.HWMake(&hw); rc < 0 {
		return
	}
	defer alsa.HWFree(hw)
	if rc = alsa.SWMake(&sw); rc < 0 {
		return
	}
	defer alsa.SWFree(sw)
	granted = buffer
	for _, ask := range []struct {
		step setStep
		call func() int32
	}{
		{setForm, func() int32 { return alsa.HWAny(pcm, hw) }},
		{setForm, func() int32 { return alsa.HWResample(pcm, hw, 1) }},
		{setForm, func() int32 { return alsa.HWAccess(pcm, hw, alsaInterleaved) }},
		{setForm, func() int32 { return alsa.HWFormat(pcm, hw, alsaS16) }},
		{setForm, func() int32 { return alsa.HWChannels(pcm, hw, 2) }},
		{setRate, func() int32 { return alsa.HWRate(pcm, hw, Rate, 0) }},
		{setBuffer, func() int32 { return alsa.HWBufferNear(pcm, hw, &granted) }},
		{setBuffer, func() int32 {
			period = granted / 3 // each period costs a round through the sound server, and too few of them leave no room for delay
			return alsa.HWPeriodNear(pcm, hw, &period, nil)
		}},
		{setBuffer, func() int32 { return alsa.HWSet(pcm, hw) }},
		{setBuffer, func() int32 { return alsa.HWBuffer(hw, &granted) }},
		{setBuffer, func() int32 { return alsa.HWPeriod(hw, &period, nil) }},
		{setBuffer, func() int32 { return alsa.SWCurrent(pcm, sw) }},
		{setBuffer, func() int32 { return alsa.SWStart(pcm, sw, granted/max(1, period)*period) }},
		{setBuffer, func() int32 { return alsa.SWAvailMin(pcm, sw, period) }},
		{setBuffer, func() int32 { return alsa.SWSet(pcm, sw) }},
	} {
		if rc = ask.call(); rc < 0 {
			return granted, period, ask.step, rc
		}
	}
	return granted, period, setBuffer, 0
}

// pcmName is what ALSA calls an open device, or nothing.
func pcmName(pcm handle) string {
	var info handle
	if alsa.InfoMake(&info) < 0 {
		return ""
	}
	defer alsa.InfoFree(info)
	if alsa.Info(pcm, info) < 0 {
		return ""
	}
	return alsa.InfoName(info)
}

// Way says how sound gets to the loudspeaker on this machine, and an error if something is missing on the way that has to be installed.
func Way() (string, error) {
	if err := loadALSA(); err != nil {
		return "", err
	}
	return "ALSA, by the machine's " + libasound, nil
}
