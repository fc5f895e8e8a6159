import { Button } from '@mantine/core'
import { Component, type ReactNode } from 'react'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

/** Keeps a fault in one screen from taking the window down. */
export class ScreenBoundary extends Component<{ children: ReactNode }, { error: unknown }> {
  override state: { error: unknown } = { error: undefined }

  static getDerivedStateFromError(error: unknown) {
    return { error }
  }

  override render() {
    if (this.state.error === undefined) return this.props.children
    return (
      <div className="shell-wait">
        <ProblemNotice title="This screen could not be drawn" error={this.state.error}>
          <Button onClick={() => this.setState({ error: undefined })}>Draw it again</Button>
        </ProblemNotice>
      </div>
    )
  }
}
