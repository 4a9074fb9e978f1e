import type { ReactNode } from 'react'

interface Props {
  label: string
  children: ReactNode
  className?: string
}

/** A region that may be wider or longer than there is room for; keys scroll it too. */
export function Scroll({ label, children, className = '' }: Props) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reached by keys
    <section className={`table-scroll ${className}`.trim()} tabIndex={0} aria-label={label}>
      {children}
    </section>
  )
}
