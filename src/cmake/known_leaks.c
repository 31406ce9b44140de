/* SPDX-License-Identifier: MIT
 * For builds with the address sanitizer: fontconfig 2.14 loses about 300 bytes
 * once a process while it reads its own configuration. */
const char *__lsan_default_suppressions(void);

const char *__lsan_default_suppressions(void)
{
    return "leak:libfontconfig\n";
}
