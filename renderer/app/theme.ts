import { type ButtonProps, type CSSVariablesResolver, createTheme, type MantineTheme } from '@mantine/core'
import { phrase } from '#core/words/phrase.ts'

/**
 * Every colour of the app. Pairs of ink and ground meet WCAG AA; the trust colours stay apart for colour-blind eyes.
 */
const light = {
  '--t-paper': '#f7f7f3',
  '--t-surface': '#ffffff',
  '--t-sunken': '#eeeee8',
  '--t-line': '#dcdcd4',
  '--t-line-strong': '#8b8d88',
  '--t-ink': '#191c1e',
  '--t-ink-2': '#565b5e',
  '--t-accent': '#0d5a6b',
  '--t-accent-wash': '#dfedf0',
  '--t-on-accent': '#ffffff',
  '--t-bar': '#0e3039',
  '--t-bar-ink': '#f2f5f4',
  '--t-bar-ink-2': '#b3c6ca',
  '--t-bar-line': '#5f8791',
  '--t-uncalibrated': '#a3123f',
  '--t-upset': '#c2410c',
  '--t-doubtful': '#7a3fa6',
  '--t-overdue': '#8f6200',
  '--t-due-soon': '#0066a6',
  '--t-sound': '#0a7558',
}

const dark: Record<keyof typeof light, string> = {
  '--t-paper': '#131618',
  '--t-surface': '#1a1e21',
  '--t-sunken': '#0f1214',
  '--t-line': '#2d3337',
  '--t-line-strong': '#767e83',
  '--t-ink': '#e8e9e6',
  '--t-ink-2': '#a5acaf',
  '--t-accent': '#74c7d6',
  '--t-accent-wash': '#1c373e',
  '--t-on-accent': '#08191e',
  '--t-bar': '#0c2027',
  '--t-bar-ink': '#eef3f3',
  '--t-bar-ink-2': '#a9bcc1',
  '--t-bar-line': '#56808b',
  '--t-uncalibrated': '#ff7f9d',
  '--t-upset': '#ff9a5c',
  '--t-doubtful': '#cda1f0',
  '--t-overdue': '#e3b742',
  '--t-due-soon': '#78b7f0',
  '--t-sound': '#4fc7a0',
}

export const theme = createTheme({
  fontFamily: "'Archivo Variable', 'Segoe UI', 'Helvetica Neue', Arial, sans-serif",
  fontSizes: { xs: '12px', sm: '13px', md: '14px', lg: '16px', xl: '18px' },
  defaultRadius: 2,
  primaryColor: 'petrol',
  primaryShade: { light: 7, dark: 3 },
  autoContrast: true,
  colors: {
    petrol: [
      '#e9f4f6',
      '#cfe6ea',
      '#a3d0d8',
      '#74c7d6',
      '#479fb0',
      '#2a8396',
      '#1a6d80',
      '#0d5a6b',
      '#0a4856',
      '#073742',
    ],
  },
  cursorType: 'pointer',
  components: {
    Button: {
      // Filled is the one step of a screen that most people come for.
      defaultProps: { size: 'xs', variant: 'default' },
      // Mantine works out the ink of a filled button for the light scheme only.
      vars: (_theme: MantineTheme, { variant }: ButtonProps) => ({
        root: variant === 'filled' ? { '--button-color': 'var(--t-on-accent)' } : {},
      }),
    },
    ...Object.fromEntries(
      ['TextInput', 'NativeSelect', 'Select', 'MultiSelect', 'Autocomplete', 'Checkbox'].map((field) => [
        field,
        { defaultProps: { size: 'xs' } },
      ]),
    ),
    Textarea: { defaultProps: { size: 'xs', autosize: true, minRows: 2, maxRows: 8 } },
    // The library's own word for it is English.
    PasswordInput: {
      defaultProps: { visibilityToggleButtonProps: { 'aria-label': phrase('Show or hide what is typed') } },
    },
    SegmentedControl: { defaultProps: { size: 'xs', transitionDuration: 0 } },
    // The heading row of a dialog is a header element, which would be a second banner of the page.
    Modal: {
      defaultProps: {
        attributes: { header: { role: 'none' } },
        closeButtonProps: { 'aria-label': phrase('Close') },
        transitionProps: { duration: 0 },
        overlayProps: { backgroundOpacity: 0.45 },
      },
    },
  },
})

const forMantine = {
  '--mantine-color-body': 'var(--t-paper)',
  '--mantine-color-text': 'var(--t-ink)',
  '--mantine-color-dimmed': 'var(--t-ink-2)',
  '--mantine-color-placeholder': 'var(--t-ink-2)',
  '--mantine-color-error': 'var(--t-uncalibrated)',
  '--mantine-color-default': 'var(--t-surface)',
  '--mantine-color-default-border': 'var(--t-line-strong)',
  '--mantine-color-default-hover': 'var(--t-sunken)',
  '--mantine-color-default-color': 'var(--t-ink)',
}

export const cssVariables: CSSVariablesResolver = () => ({
  variables: {},
  light: { ...light, ...forMantine },
  dark: { ...dark, ...forMantine },
})
