import { spawnSync } from 'node:child_process'

/** Whether a program answers on this machine: one on PATH that can be started. Tests that need it skip in words elsewhere. */
export const hasProgram = (program: string, ...args: string[]): boolean =>
  spawnSync(program, args.length > 0 ? args : ['--version'], { stdio: 'ignore' }).error === undefined
