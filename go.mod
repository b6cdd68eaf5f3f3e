module sternfan

go 1.27

toolchain go1.27.3

require pgregory.net/rapid v1.2.0
