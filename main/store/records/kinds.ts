import type { z } from 'zod'
import { AlarmRules, LaboratorySettings, Settings } from '../../../app/contract/settings.ts'
import { ApiToken } from '../../../app/records/api-token.ts'
import { RECORD_KINDS, recordKind } from '../../../app/records/record-kinds.ts'
import { KeptValidation } from '../../../app/validation/record.ts'

/** Everything that a station keeps in versions: the lasting records, and what it keeps about itself. */
export const KINDS = {
  ...RECORD_KINDS,
  settings: recordKind({
    schema: Settings,
    lists: [],
    rowForm: 1,
    row: ({ laboratory }) => ({ name: laboratory.name }),
  }),
  laboratory: recordKind({
    schema: LaboratorySettings,
    lists: [],
    rowForm: 1,
    row: ({ laboratory }) => ({ name: laboratory.name }),
  }),
  'alarm-rules': recordKind({ schema: AlarmRules, lists: [], rowForm: 1, row: () => ({ name: '' }) }),
  'api-token': recordKind({
    schema: ApiToken,
    lists: [],
    rowForm: 1,
    row: ({ name, rights }) => ({ name, type: rights.join(' ') }),
  }),
  validation: recordKind({
    schema: KeptValidation,
    lists: [],
    rowForm: 1,
    row: ({ version, verdict }) => ({ name: version, type: verdict }),
  }),
} as const

export type Kind = keyof typeof KINDS
export type Entry<K extends Kind> = z.output<(typeof KINDS)[K]['schema']>

export const isKind = (text: string): text is Kind => text in KINDS
