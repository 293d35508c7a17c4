package spectra

// lowRate is one channel of a recording at a low sample rate, kept in memory: it
// shows where the signal begins and ends and whether it repeats itself.
type lowRate struct {
	Rate    float64 // Hz
	Samples []float64
}

// lowRateLimit bounds the memory of a lowRate; at 750 Hz it is six minutes.
const lowRateLimit = 1 << 18

// middleLimit bounds the memory of the samples at the middle rate; at 6 kHz it is three minutes. Of a
// longer recording none are kept: what was cut off in the middle of a sweep has no harmonics to tell.
const middleLimit = 1 << 20
