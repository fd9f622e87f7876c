// Package relay steps the devices of a control circuit over the networks they
// are wired in: coils and their contacts, thermostats and other switches,
// pressure switches and limits, timers, fuses, thermal overloads, motors, and
// boards that work through a program.
//
// A [Wiring] lists the devices as data, each tied to branches of one or more
// circuit networks; nothing in it knows what kind of equipment it makes up. A
// [Machine] holds their states. A command or a changed pressure moves
// contacts; the networks that this touches are solved; coils whose voltage has
// crossed their pull-in or drop-out act a little later, and so on until nothing
// more is due: a sequence of operation. It is kept as a trace of steps, each
// with its time, its cause and what changed ([Step]), without words: sentences
// are made where they are shown.
//
// Everything is deterministic. A coil that cannot hold itself in is found
// chattering, which is a result; the number of steps of one run is bounded.
//
// Left out: contact bounce, the coasting of motors after they lose voltage, the
// run-up of motors in detail (they stand still for their starting time and then
// turn at their balance of torque, or stall), and the warming of transformers.
package relay
