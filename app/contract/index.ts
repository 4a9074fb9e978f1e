import { draftsCalls } from './calls-drafts.ts'
import { laboratoryCalls } from './calls-laboratory.ts'
import { alarmsCalls, historyCalls, liveCalls, stationCalls, wireCalls } from './calls-live.ts'
import { benchCalls, planCalls, runCalls } from './calls-night.ts'
import { ordersCalls } from './calls-orders.ts'
import { peopleCalls } from './calls-people.ts'
import { checksCalls, registerCalls, settingsCalls } from './calls-register.ts'
import { archiveCalls, pointsCalls } from './calls-results.ts'
import { tokensCalls } from './calls-tokens.ts'
import { validationCalls } from './calls-validation.ts'

/**
 * What a window may ask of the station, and what it is told. Declared once; both ends derive from it and both ends
 * parse. Binary answers are column buffers (columns.ts) in a Blob.
 *
 * Expected refusals are typed errors with a sentence; anything else is a fault.
 */
export const contract = {
  station: stationCalls,
  live: liveCalls,
  history: historyCalls,
  bench: benchCalls,
  plan: planCalls,
  run: runCalls,
  points: pointsCalls,
  archive: archiveCalls,
  orders: ordersCalls,
  drafts: draftsCalls,
  register: registerCalls,
  checks: checksCalls,
  wire: wireCalls,
  alarms: alarmsCalls,
  settings: settingsCalls,
  people: peopleCalls,
  validation: validationCalls,
  laboratory: laboratoryCalls,
  tokens: tokensCalls,
}
export type Contract = typeof contract
