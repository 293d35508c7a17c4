// Package soundserver starts sound servers for tests under the outside tag: PulseAudio, or
// PipeWire that speaks its protocol. What they play goes through a bench that exists only as
// numbers, and comes back as what they record.
package soundserver
