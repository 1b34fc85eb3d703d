//! The elements of JUnit XML that we write, in the form the schemas of build servers share.
//!
//! The widely used `junit-10.xsd` allows no `skipped` on `testsuites`, so only suites count what was skipped.

use std::io::{self, Write};

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

/// The whole document.
#[derive(Debug)]
pub(super) struct Document {
    name: &'static str,
    suites: Vec<TestSuite>,
}

/// What is told of one file.
#[derive(Debug)]
pub(super) struct TestSuite {
    name: String,
    properties: Vec<(&'static str, String)>,
    cases: Vec<TestCase>,
    output: Option<String>,
}

/// One thing that was checked.
#[derive(Debug)]
pub(super) struct TestCase {
    name: String,
    class: Option<String>,
    status: TestCaseStatus,
    output: Option<String>,
}

/// What a case came to. A success shows none of its texts.
#[derive(Debug)]
pub(super) struct TestCaseStatus {
    element: Option<Element>,
    kind: Option<String>,
    message: Option<String>,
    description: Option<String>,
}

/// The element inside a case that says that it did not succeed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Element {
    Failure,
    Error,
    Skipped,
}

/// What makes a build fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NonSuccessKind {
    /// What was checked is not so.
    Failure,
    /// It could not be checked.
    Error,
}

impl Document {
    pub(super) const fn new(name: &'static str) -> Self {
        Self {
            name,
            suites: Vec::new(),
        }
    }

    pub(super) fn add_test_suite(&mut self, suite: TestSuite) {
        self.suites.push(suite);
    }

    /// Writes it, indented.
    pub(super) fn serialize(&self, out: &mut dyn Write) -> io::Result<()> {
        let mut writer = Writer::new_with_indent(out, b' ', 4);
        writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
        let mut tag = BytesStart::new("testsuites");
        tag.push_attribute(("name", self.name));
        let all = |count: &dyn Fn(&TestSuite) -> usize| {
            let counts = self.suites.iter().map(count);
            counts.sum::<usize>().to_string()
        };
        let tests = all(&|suite| suite.cases.len());
        tag.push_attribute(("tests", tests.as_str()));
        for (name, element) in [("failures", Element::Failure), ("errors", Element::Error)] {
            let count = all(&|suite| suite.count(element));
            tag.push_attribute((name, count.as_str()));
        }
        writer.write_event(Event::Start(tag))?;
        for suite in &self.suites {
            suite.write(&mut writer)?;
        }
        end("testsuites", &mut writer)?;
        writer.write_indent()
    }
}

impl TestSuite {
    pub(super) fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            properties: Vec::new(),
            cases: Vec::new(),
            output: None,
        }
    }

    pub(super) fn add_property(&mut self, (name, value): (&'static str, &str)) {
        self.properties.push((name, value.to_owned()));
    }

    pub(super) fn add_test_case(&mut self, case: TestCase) {
        self.cases.push(case);
    }

    pub(super) fn set_system_out(&mut self, text: impl Into<String>) {
        self.output = Some(text.into());
    }

    fn count(&self, element: Element) -> usize {
        let elements = self.cases.iter().filter_map(|case| case.status.element);
        elements.filter(|known| *known == element).count()
    }

    fn write<W: Write>(&self, writer: &mut Writer<W>) -> io::Result<()> {
        let mut tag = BytesStart::new("testsuite");
        tag.push_attribute(("name", self.name.as_str()));
        tag.push_attribute(("tests", self.cases.len().to_string().as_str()));
        for (name, element) in [
            ("skipped", Element::Skipped),
            ("errors", Element::Error),
            ("failures", Element::Failure),
        ] {
            tag.push_attribute((name, self.count(element).to_string().as_str()));
        }
        writer.write_event(Event::Start(tag))?;
        if !self.properties.is_empty() {
            writer.write_event(Event::Start(BytesStart::new("properties")))?;
            for (name, value) in &self.properties {
                let mut tag = BytesStart::new("property");
                tag.push_attribute(("name", *name));
                tag.push_attribute(("value", value.as_str()));
                writer.write_event(Event::Empty(tag))?;
            }
            end("properties", writer)?;
        }
        for case in &self.cases {
            case.write(writer)?;
        }
        write_output(self.output.as_deref(), writer)?;
        end("testsuite", writer)
    }
}

impl TestCase {
    pub(super) fn new(name: impl Into<String>, status: TestCaseStatus) -> Self {
        Self {
            name: name.into(),
            class: None,
            status,
            output: None,
        }
    }

    pub(super) fn set_classname(&mut self, class: &str) {
        self.class = Some(class.to_owned());
    }

    pub(super) fn set_system_out(&mut self, text: impl Into<String>) {
        self.output = Some(text.into());
    }

    fn write<W: Write>(&self, writer: &mut Writer<W>) -> io::Result<()> {
        let mut tag = BytesStart::new("testcase");
        tag.push_attribute(("name", self.name.as_str()));
        if let Some(class) = &self.class {
            tag.push_attribute(("classname", class.as_str()));
        }
        if self.status.element.is_none() && self.output.is_none() {
            return writer.write_event(Event::Empty(tag));
        }
        writer.write_event(Event::Start(tag))?;
        self.status.write(writer)?;
        write_output(self.output.as_deref(), writer)?;
        end("testcase", writer)
    }
}

impl TestCaseStatus {
    const fn of(element: Option<Element>) -> Self {
        Self {
            element,
            kind: None,
            message: None,
            description: None,
        }
    }

    pub(super) const fn success() -> Self {
        Self::of(None)
    }

    pub(super) const fn skipped() -> Self {
        Self::of(Some(Element::Skipped))
    }

    pub(super) const fn non_success(kind: NonSuccessKind) -> Self {
        Self::of(Some(match kind {
            NonSuccessKind::Failure => Element::Failure,
            NonSuccessKind::Error => Element::Error,
        }))
    }

    pub(super) fn set_type(&mut self, kind: &str) {
        self.kind = Some(kind.to_owned());
    }

    pub(super) fn set_message(&mut self, message: impl Into<String>) {
        self.message = Some(message.into());
    }

    pub(super) fn set_description(&mut self, text: impl Into<String>) {
        self.description = Some(text.into());
    }

    fn write<W: Write>(&self, writer: &mut Writer<W>) -> io::Result<()> {
        let name = match self.element {
            None => return Ok(()),
            Some(Element::Failure) => "failure",
            Some(Element::Error) => "error",
            Some(Element::Skipped) => "skipped",
        };
        let mut tag = BytesStart::new(name);
        if let Some(message) = &self.message {
            tag.push_attribute(("message", message.as_str()));
        }
        if let Some(kind) = &self.kind {
            tag.push_attribute(("type", kind.as_str()));
        }
        match &self.description {
            None => writer.write_event(Event::Empty(tag)),
            Some(text) => write_text(tag, name, text, writer),
        }
    }
}

fn write_output<W: Write>(text: Option<&str>, writer: &mut Writer<W>) -> io::Result<()> {
    let name = "system-out";
    text.map_or(Ok(()), |text| {
        write_text(BytesStart::new(name), name, text, writer)
    })
}

fn write_text<W: Write>(
    tag: BytesStart<'_>,
    name: &str,
    text: &str,
    writer: &mut Writer<W>,
) -> io::Result<()> {
    writer.write_event(Event::Start(tag))?;
    writer.write_event(Event::Text(BytesText::new(text)))?;
    end(name, writer)
}

fn end<W: Write>(name: &str, writer: &mut Writer<W>) -> io::Result<()> {
    writer.write_event(Event::End(BytesEnd::new(name)))
}
