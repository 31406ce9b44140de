/* SPDX-License-Identifier: MIT
 * The commands. Each gets the words after its name and returns an exit code. */
#ifndef DM_CLI_CMD_H
#define DM_CLI_CMD_H

int cmd_budget(int argc, char **argv);
int cmd_check(int argc, char **argv);
int cmd_convert(int argc, char **argv);
int cmd_locate(int argc, char **argv);
int cmd_plan(int argc, char **argv);
int cmd_map(int argc, char **argv);
int cmd_find(int argc, char **argv);
int cmd_tap(int argc, char **argv);
int cmd_export(int argc, char **argv);
int cmd_run(int argc, char **argv);

#endif
