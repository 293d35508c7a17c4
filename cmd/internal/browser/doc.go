// Package browser opens pages of ours in a real browser, for tests under the
// outside tag. It starts Chromium without a window and without any network
// service of its own, in a profile that is thrown away.
package browser
