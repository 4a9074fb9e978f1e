import { type RefObject, useLayoutEffect, useRef, useState } from 'react'

const FIRST_WIDTH = 640

/** Width of an element in CSS pixels, as it is now. */
export function useWidth<E extends HTMLElement>(): { ref: RefObject<E | null>; width: number } {
  const ref = useRef<E>(null)
  const [width, setWidth] = useState(FIRST_WIDTH)
  useLayoutEffect(() => {
    const element = ref.current
    if (!element) return
    const look = () => setWidth(Math.max(200, Math.round(element.clientWidth)))
    look()
    const observer = new ResizeObserver(look)
    observer.observe(element)
    return () => observer.disconnect()
  }, [])
  return { ref, width }
}
