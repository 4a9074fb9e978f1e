import { describe, expect, it } from 'vitest'
import { Frames } from '../../../renderer/live/frame.ts'

describe('Frames', () => {
  it('asks for one frame however often it is woken, and paints nothing after disposal', () => {
    const asked: ((atMs: number) => void)[] = []
    const frames = new Frames((callback) => asked.push(callback))
    let painted = 0
    const painter = frames.add(() => painted++)
    frames.wake()
    frames.wake()
    expect(asked).toHaveLength(1)
    asked[0]!(0)
    expect(painted).toBe(1)
    painter.dispose()
    frames.wake()
    asked[1]!(1)
    expect(painted).toBe(1)
  })
})
