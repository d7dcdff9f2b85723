//go:build cgo

package main

/*
#include <stdlib.h>
#ifdef __GLIBC__
#include <malloc.h>
static void trim(void) { malloc_trim(0); }
#else
static void trim(void) {}
#endif
*/
import "C"

// trimC lets the C library give back what SQLite freed after reading a long
// book: some 5 MB that it keeps otherwise.
func trimC() { C.trim() }
