// fontconfig 2.14 keeps one block of 256 bytes from its start that the leak sanitizer can't reach;
// it does not grow with the number of canvases. The name is the sanitizer's.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() { return "leak:libfontconfig\n"; }
