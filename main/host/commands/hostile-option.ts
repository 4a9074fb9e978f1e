import { Option } from 'commander'
import { HOSTILE_CASE_NAMES } from '../../../simulator/hostile/cases.ts'

/** `--hostile CASE`: what a simulated laboratory does that its station is not told. */
export const hostileOption = () =>
  new Option('--hostile <case>', 'what the lab does that the station is not told')
    .choices(HOSTILE_CASE_NAMES)
    .default('none')
