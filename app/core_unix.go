//go:build unix

package main

import "syscall"

// noCore keeps the system from writing the memory of a program that crashes, and
// with it what the household wrote down, to a file.
func noCore() error { return syscall.Setrlimit(syscall.RLIMIT_CORE, &syscall.Rlimit{}) }
