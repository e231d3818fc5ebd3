#!/bin/bash
# Runs a test program on the emulated machine. A program that faults resets the machine, which ends
# the emulator with status 0: so the last words count as well.
# Usage: on_target_checks.sh IMAGE
set -euo pipefail
output=$(timeout 60 qemu-system-arm -M mps2-an385 -display none -monitor none -serial none \
  -no-reboot -icount shift=3,sleep=off -device at24c-eeprom,address=0x50,rom-size=4096 \
  -semihosting-config enable=on,target=native -kernel "$1" 2>&1) && status=0 || status=$?
echo "$output"
[ "$status" -eq 0 ] || { echo "the emulator ended with status $status"; exit 1; }
case $output in
  *"checks on the target passed") ;;
  *) echo "the program did not come to its end"; exit 1 ;;
esac
