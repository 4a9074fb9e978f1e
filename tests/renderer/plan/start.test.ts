import { describe, expect, it } from 'vitest'
import { SessionSetup } from '../../../app/records/session.ts'
import { EMPTY_START, jobOf } from '../../../renderer/plan/start.model.ts'

describe('jobOf', () => {
  it('is null where nothing was said of the order, whatever the session is called', () => {
    expect(jobOf({ ...EMPTY_START, name: 'Night', note: 'Lid open', customerAddress: ' \n' })).toBeNull()
  })

  it('takes addresses and remarks by the line, and is what a session keeps', () => {
    const job = jobOf({
      ...EMPTY_START,
      jobNumber: ' J-7 ',
      customer: 'Invented Dairy',
      customerAddress: '1 Milk Lane\n\n Quennick ',
      received: '2026-03-01',
      remarks: 'Sheath dented.',
    })
    expect(SessionSetup.shape.job.parse(job)).toEqual({
      number: 'J-7',
      customer: 'Invented Dairy',
      customerAddress: ['1 Milk Lane', 'Quennick'],
      received: '2026-03-01',
      remarks: ['Sheath dented.'],
    })
    expect(jobOf({ ...EMPTY_START, received: '', customer: 'A' })).not.toHaveProperty('received')
  })
})
