import { type RefObject, useLayoutEffect, useRef, useState } from 'react'

const FIRST_WIDTH = 640
const FIRST_REM = 14

/** Width of an element and size of the window's letters in CSS pixels, as they are now. */
export function useWidth<E extends HTMLElement>(): {
  ref: RefObject<E | null>
  width: number
  remPx: number
} {
  const ref = useRef<E>(null)
  const [width, setWidth] = useState(FIRST_WIDTH)
  const [remPx, setRemPx] = useState(FIRST_REM)
  useLayoutEffect(() => {
    const element = ref.current
    if (!element) return
    const look = () => {
      setWidth(Math.max(200, Math.round(element.clientWidth)))
      setRemPx(Number.parseFloat(getComputedStyle(document.documentElement).fontSize))
    }
    look()
    const observer = new ResizeObserver(look)
    observer.observe(element)
    return () => observer.disconnect()
  }, [])
  return { ref, width, remPx }
}
