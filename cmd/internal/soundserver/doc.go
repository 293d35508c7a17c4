// Package soundserver starts PulseAudio or PipeWire for tests under the outside tag. What it plays goes
// through a bench that exists only as numbers, and comes back as what it records.
package soundserver
