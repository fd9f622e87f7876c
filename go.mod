module rung

go 1.26
