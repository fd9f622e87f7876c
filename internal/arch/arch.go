// Package arch holds no program: its test keeps the direction of imports.
package arch
