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

  it('paints numbers in one frame and plots in the next, and calls back when both are done', () => {
    const asked: ((atMs: number) => void)[] = []
    const frames = new Frames((callback) => asked.push(callback))
    const done: string[] = []
    frames.add(() => done.push('plots'), 'plots')
    frames.add(() => done.push('numbers'))
    frames.afterPaint(() => done.push('after'))
    asked[0]!(0)
    expect(done).toEqual(['numbers'])
    expect(asked).toHaveLength(2)
    asked[1]!(16)
    expect(done).toEqual(['numbers', 'plots', 'after'])
    expect(asked).toHaveLength(2)
  })

  it('paints the numbers again first when woken between the two frames', () => {
    const asked: ((atMs: number) => void)[] = []
    const frames = new Frames((callback) => asked.push(callback))
    const done: string[] = []
    frames.add(() => done.push('plots'), 'plots')
    frames.add(() => done.push('numbers'))
    for (let i = 0; i < 3; i++) {
      asked.at(-1)!(i)
      if (i === 0) frames.wake()
    }
    expect(done).toEqual(['numbers', 'numbers', 'plots'])
  })
})
