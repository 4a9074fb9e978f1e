import { Component, type ReactNode } from 'react'
import { Button } from '../parts/Button.tsx'

interface Props {
  /** Which place this is: another place begins without the fault of this one. */
  place: string
  onAgain: () => void
  children: ReactNode
}

interface State {
  fault: Error | undefined
  place: string
}

/** A place that cannot be shown says so where it would stand; the rest of the window, and the station, go on. */
export class RoomGuard extends Component<Props, State> {
  override state: State = { fault: undefined, place: this.props.place }

  static getDerivedStateFromError(fault: Error): Partial<State> {
    return { fault }
  }

  static getDerivedStateFromProps({ place }: Props, state: State): Partial<State> | null {
    return place === state.place ? null : { fault: undefined, place }
  }

  override render(): ReactNode {
    const { fault } = this.state
    if (!fault) return this.props.children
    return (
      <section className="empty" role="alert">
        <h2>This place cannot be shown just now.</h2>
        <div className="empty-words">
          <p>
            The station measures and stores without the window. When the state line says that the station is
            there again, try once more; when that does not help, load the page anew.
          </p>
          <p>
            <small>{fault.message}</small>
          </p>
        </div>
        <div className="row">
          <Button
            onPress={() => {
              this.props.onAgain()
              this.setState({ fault: undefined })
            }}
          >
            Try once more
          </Button>
          <Button onPress={() => location.reload()}>Load the page anew</Button>
        </div>
      </section>
    )
  }
}
