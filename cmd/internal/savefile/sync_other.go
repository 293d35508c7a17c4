//go:build !unix

package savefile

// syncFolder does nothing: the system brings names onto the disk by itself.
func syncFolder(string) error { return nil }
