//go:build !work

package main

// workCommands are left out of the program for a bench: it is built with the tag work to have them.
func workCommands() []command { return nil }
