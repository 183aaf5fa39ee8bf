//! Signing in, and choosing a password.

use leptos::prelude::*;

/// The sign-in form as it was typed, and what is wrong with it. The password is never shown again.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SignInForm {
    /// The name as typed.
    pub name: String,
    /// Where to go after signing in: a path of ours.
    pub next: String,
    /// What is wrong, in one sentence.
    pub error: Option<String>,
}

/// The sign-in page for staff.
#[component]
pub fn SignInPage(
    /// The form.
    form: SignInForm,
) -> impl IntoView {
    let bad = form.error.is_some();
    let error = form.error.map(|text| {
        view! { <p class="notice error" id="sign-in-error" role="alert">{text}</p> }
    });
    let described = bad.then_some("sign-in-error");
    let invalid = bad.then_some("true");
    view! {
        <article class="card narrow">
            <h1>"Sign in"</h1>
            <p>"For people who work in the shop. As a customer, use the link in your notice instead."</p>
            {error}
            <form method="post" action="/sign-in">
                <input type="hidden" name="next" value=form.next />
                <div class="field">
                    <label for="name">"Name"</label>
                    <input
                        id="name"
                        name="name"
                        value=form.name
                        autocomplete="username"
                        autocapitalize="none"
                        spellcheck="false"
                        maxlength="64"
                        required
                        autofocus
                        aria-invalid=invalid
                        aria-describedby=described
                    />
                </div>
                <div class="field">
                    <label for="password">"Password"</label>
                    <input
                        id="password"
                        name="password"
                        type="password"
                        autocomplete="current-password"
                        maxlength="128"
                        required
                        aria-invalid=invalid
                        aria-describedby=described
                    />
                </div>
                <div class="field">
                    <label for="code">"Code from your telephone " <span class="optional">"(if you set one up)"</span></label>
                    <input
                        id="code"
                        name="code"
                        inputmode="numeric"
                        autocomplete="one-time-code"
                        maxlength="12"
                        aria-invalid=invalid
                        aria-describedby=described
                    />
                </div>
                <button class="button primary" type="submit">"Sign in"</button>
            </form>
        </article>
    }
}

/// What is wrong with a change of password; each is a sentence beside its field.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PasswordErrors {
    /// About the present password.
    pub present: Option<String>,
    /// About the new one.
    pub new: Option<String>,
    /// About the repetition.
    pub again: Option<String>,
}

/// One open session of somebody.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SessionLine {
    /// Names it in the form that ends it.
    pub name: String,
    /// On what kind of device; empty when the browser did not say.
    pub device: String,
    /// When it was opened, for people.
    pub opened: String,
    /// When it was used last, for people.
    pub seen: String,
    /// It is the one this page was asked for with.
    pub is_here: bool,
}

/// What the account page shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AccountView {
    /// What the shop calls them.
    pub full_name: String,
    /// They still have the one-time password and can do nothing else first.
    pub must_change: bool,
    /// What was just done, in a sentence.
    pub done: Option<&'static str>,
    /// Signing in takes a code as well.
    pub has_second_step: bool,
    /// Why the second step was not given up.
    pub second_step_error: Option<String>,
    /// The fewest characters a password may have.
    pub least_length: usize,
    /// What is wrong with the passwords.
    pub errors: PasswordErrors,
    /// Where they are signed in.
    pub sessions: Vec<SessionLine>,
}

/// Where somebody is signed in, with a button to end each.
fn sessions(open: Vec<SessionLine>) -> AnyView {
    let others = open.iter().any(|one| !one.is_here);
    let lines: Vec<_> = open
        .into_iter()
        .map(|one| {
            let device = if one.device.is_empty() { "A browser".to_owned() } else { one.device };
            let end = if one.is_here {
                view! { <p class="quiet">"You are reading this page with it."</p> }.into_any()
            } else {
                let label = format!("End the session on {device}, last used {}", one.seen);
                view! {
                    <form method="post" action="/account/sessions/end">
                        <input type="hidden" name="session" value=one.name />
                        <button class="button" type="submit" aria-label=label>"End this one"</button>
                    </form>
                }
                .into_any()
            };
            view! {
                <li>
                    <p><b>{device}</b></p>
                    <p class="quiet">"Opened " {one.opened} ", last used " {one.seen}</p>
                    {end}
                </li>
            }
        })
        .collect();
    let all = others.then(|| {
        view! {
            <form method="post" action="/account/sessions/end-others">
                <button class="button" type="submit">"End all others"</button>
            </form>
        }
    });
    view! {
        <section class="card narrow">
            <h2>"Where you are signed in"</h2>
            <p>"A session ends after a week without use. End one you do not know, and then change your password."</p>
            <ul class="plain stack">{lines}</ul>
            {all}
        </section>
    }
    .into_any()
}

/// The account page: who one is, and a form to choose another password.
#[component]
pub fn AccountPage(
    /// What is shown.
    of: AccountView,
) -> impl IntoView {
    let AccountView {
        full_name,
        must_change,
        done,
        has_second_step,
        second_step_error,
        least_length,
        errors,
        sessions: open,
    } = of;
    let lead = if must_change {
        "You signed in with a one-time password. Choose your own now; then the rest opens."
    } else {
        "Here you can choose another password. Your other sessions end when you do."
    };
    let done = done.map(|words| view! { <p class="notice good" role="status">{words}</p> });
    let second_step = (!must_change).then(|| {
        if has_second_step {
            view! {
                <section class="card narrow">
                    <h2>"A second step when you sign in"</h2>
                    <p>"It is on: signing in takes your password and a code from your telephone."</p>
                    <form method="post" action="/account/second-step/off">
                        <PasswordField
                            name="password"
                            label="Your password, to give the second step up"
                            autocomplete="current-password"
                            error=second_step_error
                        />
                        <button class="button" type="submit">"Sign in with the password alone"</button>
                    </form>
                </section>
            }
            .into_any()
        } else {
            view! {
                <section class="card narrow">
                    <h2>"A second step when you sign in"</h2>
                    <p>
                        "A password can be seen or guessed. With a second step, signing in also takes a code of this minute from an \
                         app on your telephone."
                    </p>
                    <p class="actions"><a class="button" href="/account/second-step">"Set up a second step"</a></p>
                </section>
            }
            .into_any()
        }
    });
    let hint = format!("At least {least_length} characters; a few unrelated words make a good one.");
    view! {
        <article class="card narrow">
            <h1>{full_name}</h1>
            {done}
            <p>{lead}</p>
            <form method="post" action="/account">
                <PasswordField name="present" label="Present password" autocomplete="current-password" error=errors.present />
                <PasswordField name="new" label="New password" autocomplete="new-password" error=errors.new hint=hint />
                <PasswordField name="again" label="New password, once more" autocomplete="new-password" error=errors.again />
                <button class="button primary" type="submit">"Change the password"</button>
            </form>
        </article>
        {second_step}
        {(!must_change).then(|| sessions(open))}
    }
}

/// What is wrong with setting up a second step; each is a sentence beside its field.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SecondStepErrors {
    /// About the code.
    pub code: Option<String>,
    /// About the password.
    pub password: Option<String>,
}

/// Setting up a second step: a key for the telephone, and a code that proves it arrived.
#[component]
pub fn SecondStepPage(
    /// The key as a QR code: an SVG element.
    qr: String,
    /// The key, to be typed by hand.
    key: String,
    /// The owner asks for it, and nothing else opens before.
    asked: bool,
    /// What is wrong.
    errors: SecondStepErrors,
) -> impl IntoView {
    let asked = asked.then(|| {
        view! { <p class="notice">"In this shop your work asks for a second step. Set it up now; then the rest opens."</p> }
    });
    let in_fours: Vec<String> =
        key.as_bytes().chunks(4).map(|four| String::from_utf8_lossy(four).into_owned()).collect();
    let bad = errors.code.is_some();
    let error = errors.code.map(|text| view! { <p class="error" id="code-error">{text}</p> });
    view! {
        <article class="card narrow">
            <h1>"A second step when you sign in"</h1>
            {asked}
            <p>"Read this with an app for one-time codes on your telephone, or type the key into it by hand."</p>
            <div class="qr" inner_html=qr></div>
            <p class="code">{in_fours.join(" ")}</p>
            <form method="post" action="/account/second-step">
                <input type="hidden" name="key" value=key />
                <div class="field">
                    <label for="code">"The code it shows now"</label>
                    <input
                        id="code"
                        name="code"
                        inputmode="numeric"
                        autocomplete="one-time-code"
                        maxlength="12"
                        required
                        autofocus=bad
                        aria-invalid=bad.then_some("true")
                        aria-describedby=bad.then_some("code-error")
                    />
                    {error}
                </div>
                <PasswordField name="password" label="Your password" autocomplete="current-password" error=errors.password />
                <button class="button primary" type="submit">"From now on, ask me for a code"</button>
            </form>
            <p class="hint">"Your other sessions end. If the telephone is lost, the owner gives you a new one-time password, which also ends the second step."</p>
        </article>
    }
}

#[component]
fn PasswordField(
    name: &'static str,
    label: &'static str,
    autocomplete: &'static str,
    error: Option<String>,
    #[prop(optional)] hint: Option<String>,
) -> impl IntoView {
    let error_id = format!("{name}-error");
    let hint_id = format!("{name}-hint");
    let bad = error.is_some();
    let described = [bad.then(|| error_id.clone()), hint.as_ref().map(|_| hint_id.clone())]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" ");
    let described = (!described.is_empty()).then_some(described);
    let hint = hint.map(|text| view! { <p class="hint" id=hint_id>{text}</p> });
    let error = error.map(|text| view! { <p class="error" id=error_id>{text}</p> });
    view! {
        <div class="field">
            <label for=name>{label}</label>
            <input
                id=name
                name=name
                type="password"
                autocomplete=autocomplete
                maxlength="128"
                required
                autofocus=bad
                aria-invalid=bad.then_some("true")
                aria-describedby=described
            />
            {hint}
            {error}
        </div>
    }
}
