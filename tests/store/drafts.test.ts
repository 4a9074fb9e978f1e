import { expect, it, onTestFinished } from 'vitest'
import { openStationStore } from '../../main/store/station-store.ts'
import { temporaryFolder } from './example.ts'

it('keeps what each person has half typed, written over as it goes on, the newest two hundred of one', () => {
  let utcUs = 1_000
  const store = openStationStore(temporaryFolder(), { clock: { now: () => ({ utcUs, monoUs: 0 }) } })
  onTestFinished(() => store.close())
  const { drafts } = store
  drafts.put('anna', 'plan', '1')
  utcUs += 5
  drafts.put('anna', 'plan', '2')
  drafts.put('bert', 'plan', '3')
  expect(drafts.get('anna', 'plan')).toEqual({ key: 'plan', json: '2', utcUs: 1_005 })
  expect(drafts.get('anna', 'bath')).toBeUndefined()
  for (let i = 0; i < 199; i += 1) {
    utcUs += 1
    drafts.put('anna', `record ${i}`, '{}')
  }
  expect(drafts.get('anna', 'plan')?.json).toBe('2')
  utcUs += 1
  drafts.put('anna', 'one more', '{}')
  expect(drafts.get('anna', 'plan')).toBeUndefined()
  expect(drafts.get('anna', 'record 0')).toBeDefined()
  expect(drafts.get('bert', 'plan')?.json).toBe('3')
  drafts.drop('bert', 'other')
  drafts.drop('anna', 'record 0')
  expect([drafts.get('anna', 'record 0'), drafts.get('bert', 'plan')?.json]).toEqual([undefined, '3'])
})
