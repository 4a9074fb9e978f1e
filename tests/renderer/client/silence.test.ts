import { describe, expect, it } from 'vitest'
import { Silence } from '../../../renderer/client/silence.ts'

function listening() {
  const told: string[] = []
  const silence = new Silence(
    () => told.push('silent'),
    () => told.push('renew'),
  )
  const beats = (n: number) => {
    for (let i = 0; i < n; i++) silence.beat()
  }
  return { told, silence, beats }
}

describe('Silence', () => {
  it('says once that nothing has come for six beats, and asks for a new link after thirty, and again', () => {
    const { told, beats } = listening()
    beats(5)
    expect(told).toEqual([])
    beats(1)
    expect(told).toEqual(['silent'])
    beats(24)
    expect(told).toEqual(['silent', 'renew'])
    beats(30)
    expect(told).toEqual(['silent', 'renew', 'renew'])
  })

  it('begins anew with every word', () => {
    const { told, silence, beats } = listening()
    for (let i = 0; i < 20; i++) {
      beats(5)
      silence.heard()
    }
    expect(told).toEqual([])
  })
})
